import type { FindingId } from "../match/finding.ts";

/** One fault that the simulator can plant: what its size means, a moderate size, and the finding that must name it. */
interface FaultEntry {
  readonly unit: string;
  readonly usual: number;
  readonly sentence: string;
  /** null where the fault is the converter's own and belongs in its metrics. */
  readonly finding: FindingId | null;
}

/** What can be wrong, in the order in which a reading meets it: source, pin, sampling, converter, firmware, log. */
export const FAULTS = {
  frequency: entry("%", 1, "the source runs this much above its stated frequency", "frequency-mismatch"),
  amplitude: entry("%", 8, "the source's amplitude (or span) is this much above what is stated", "amplitude-mismatch"),
  offset: entry("% of FSR", 5, "the source's offset (or level) is this much above what is stated", "offset-mismatch"),
  "source-thd": entry("dBc", -50, "the source's second and third harmonics, equal shares", null),
  "source-noise": entry("dB", 55, "signal-to-noise ratio of the source", null),
  phases: entry("phases", 73, "the tone repeats after this many readings", "few-phases"),
  overdriven: entry("V", 0.5, "the source drives the pin this far past what it survives", "pin-overdriven"),
  clipped: entry("% of amplitude", 90, "the front end flattens the signal at this share of its amplitude", "clipped"),
  compressed: entry(
    "% of amplitude",
    5,
    "the front end saturates softly (tanh): both peaks lose this share",
    "clipped",
  ),
  hum: entry(
    "LSB[:Hz]",
    4,
    "mains hum of this amplitude with its 2nd, 3rd and 5th harmonic, 50 Hz or as given",
    "mains-hum",
  ),
  drift: entry("LSB", 8, "the level moves evenly by this much over the record", "drifting"),
  "warm-up": entry(
    "LSB",
    12,
    "the level starts this far low and settles with a time constant of a fifth of the record",
    "drifting",
  ),
  "gain-drift": entry(
    "LSB",
    8,
    "the signal's amplitude (or half its span) moves evenly by this much over the record",
    "drifting",
  ),
  telegraph: entry(
    "LSB[:readings]",
    6,
    "noise that sits on two levels this far apart, staying 200 readings on average or as given",
    "telegraph-noise",
  ),
  settling: entry(
    "readings",
    2,
    "time constant with which a level is reached after a step or a switch of channel",
    "slow-settling",
  ),
  crosstalk: entry("dB", -50, "what the tone leaves on the neighbouring channel of the log", "crosstalk-present"),
  jitter: entry("% of period", 5, "rms scatter of the sampling instants, shown by the time stamps", "uneven-sampling"),
  late: entry(
    "% of period",
    40,
    "every tenth reading is late by this much, shown by the time stamps",
    "uneven-sampling",
  ),
  rate: entry("%", -3, "the real sample rate is this much above the stated one", "frequency-mismatch"),
  noise: entry("LSB", 1, "converter noise, one standard deviation", null),
  "converter-offset": entry("LSB", 4, "the converter reads this much high at 0 V", null),
  "converter-gain": entry("%", 0.4, "the converter reads this much high per input", null),
  dnl: entry("LSB", 0.2, "standard deviation of independent code-width errors", null),
  bow: entry("LSB", 2, "INL of this peak at mid-scale, zero at both ends", null),
  "s-curve": entry("LSB", 2, "INL in the shape of one sine period", null),
  "major-carry": entry("LSB", 3, "extra width of the code below mid-scale", null),
  "missing-code": entry("code", 1000, "this code has no width", null),
  "stuck-low": entry("bit", 5, "this bit always reads 0", "stuck-bit"),
  "stuck-high": entry("bit", 5, "this bit always reads 1", "stuck-bit"),
  "swapped-bits": entry(
    "bit:bit",
    3,
    "these two bits are exchanged (the second: the next one up, or as given)",
    "stuck-bit",
  ),
  "low-bits": entry("bits", 2, "this many low bits always read 0", "narrower-than-declared"),
  outliers: entry("readings", 8, "single readings with one high bit wrong", "outliers"),
  lost: entry("readings", 3, "this many readings in a row are missing", "readings-lost"),
  losses: entry("places", 4, "one to five readings are missing at this many places", "readings-lost"),
  repeated: entry("readings", 10, "single readings that show the one before again", "readings-repeated"),
  "repeated-block": entry("readings", 64, "a block of this many readings comes twice in a row", "readings-repeated"),
  wider: entry("bits", 2, "the log holds codes of this many more bits than declared", "wider-than-declared"),
  narrower: entry("bits", 2, "the log holds codes of this many fewer bits than declared", "narrower-than-declared"),
  "left-aligned": entry("bits", 4, "words are shifted up by this many bits", "left-aligned"),
  "byte-swapped": entry("", 1, "the two bytes of each 16-bit word are exchanged", "byte-swapped"),
  sign: entry(
    "",
    1,
    "two's complement is printed where plain binary is declared, and the other way round",
    "sign-mismatch",
  ),
  "skipped-lines": entry("%", 5, "this share of the log's lines is noise from another task", "lines-skipped"),
} as const satisfies Record<string, FaultEntry>;

export type FaultName = keyof typeof FAULTS;

function entry(unit: string, usual: number, sentence: string, finding: FindingId | null): FaultEntry {
  return { unit, usual, sentence, finding };
}

/** A fault to plant: its size, a second number where its unit has one, and the reading where it begins (otherwise the simulator chooses). */
export interface PlantedFault {
  readonly name: FaultName;
  readonly size: number;
  readonly second: number | null;
  readonly at: number | null;
}

/**
 * Reads "lost=3@5000", "hum=4:60", "byte-swapped"; a size that is left out is the catalogue's.
 * @returns the fault, or a sentence on what is wrong with the text
 */
export function readFault(text: string): PlantedFault | string {
  const match = /^([a-z-]+)(?:=([-+0-9.e]+)(?::([-+0-9.e]+))?)?(?:@(\d+))?$/.exec(text.trim());
  const name = match?.[1] ?? "";
  if (!match || !Object.hasOwn(FAULTS, name))
    return `"${text}" is not a fault; expected NAME, NAME=SIZE or NAME=SIZE@READING with NAME one of ${Object.keys(FAULTS).join(", ")}`;
  const number = (part: string | undefined): number | null => (part === undefined ? null : Number(part));
  const size = number(match[2]) ?? FAULTS[name as FaultName].usual;
  const second = number(match[3]);
  if (!Number.isFinite(size) || (second !== null && !Number.isFinite(second)))
    return `"${text}": the size is not a number; expected ${FAULTS[name as FaultName].unit || "none"}`;
  return { name: name as FaultName, size, second, at: number(match[4]) };
}
