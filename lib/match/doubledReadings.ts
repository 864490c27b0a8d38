import type { CaptureRecord } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { ALL_CODES, type UsableCodes } from "../signal/usableCodes.ts";
import { fitStretch } from "./fitRecord.ts";
import { quietNoise } from "./phasePieces.ts";
import { expectedCycles } from "./sampleRate.ts";

/** Longest record that is asked, and most readings that may be doubled in it. */
const LONGEST = 1 << 15;
const MOST = 128;
/** Fewer are told one by one, by the jump of phase that each makes. */
const LEAST = 3;
/** Cycles and readings of the beginning from which the walk starts, and readings by which its phase may be off there. */
const START = { cycles: 1.5, readings: 24, off: 12 };
const ROUNDS = 4;
/** Price of a doubled reading in −2·ln of likelihood, beside 2·ln of the places it may be at: half a nat of chance in a hundred thousand. */
const PRICE = 12;
/** What is left must be what noise and the converter's own curve leave: times the noise of short windows, and codes. */
const LEFT = { noise: 1.3, codes: 0.4 };

/** One sine leaves more codes rms of a record that is worth asking. */
const LEAST_LEFT = 0.7;

/**
 * Readings that were logged twice, many of them: each holds the tone back by one reading, which passes for hundreds of lost ones, or for a lower frequency. The stated frequency is
 * followed along the record: a reading that equals the one before may be the same one again, and all choices together are made by dynamic programming (Viterbi 1967), the sine fitted
 * anew to what they leave. They count when what is left is no more than noise, and far less than one sine of any frequency leaves, each doubled reading paid for.
 * @returns the second reading of each pair; empty where they do not explain the record
 */
export function doubledReadings(record: CaptureRecord, usable: UsableCodes | null): number[] {
  const { codes, stimulus, spec } = record;
  if (stimulus?.kind !== "sine" || stimulus.frequency === null || spec.sampleRate === null) return [];
  const cycles = expectedCycles(stimulus.frequency, spec.sampleRate);
  if (codes.length > LONGEST || codes.length < 2 * START.readings || !(cycles > 0)) return [];
  const whole = fitStretch(record, usable, [0, codes.length - 1]);
  if (whole === null || whole.residualRms < LEAST_LEFT) return [];
  const noise = Math.max(0.3, quietNoise(codes, cycles, usable) || 0.3);
  if (whole.residualRms < LEFT.noise * noise + LEFT.codes) return [];
  let equal = 0;
  for (let n = 1; n < codes.length; n++) if (codes[n] === codes[n - 1]) equal++;
  if (equal < LEAST) return [];
  const price = (PRICE + 2 * Math.log(equal)) * noise ** 2;
  let best: ReturnType<typeof kernels.followDoubled> | null = null;
  const counted = usable ?? ALL_CODES;
  for (const start of starts(codes, cycles, counted)) {
    const found = kernels.followDoubled(codes, start, Math.min(MOST, equal), price, START.off, ROUNDS, counted);
    if (best === null || found.rss < best.rss) best = found;
  }
  if (best === null || best.doubled.length < LEAST || best.doubled.length >= MOST) return [];
  // Priced by what is left, not by the noise of short windows, which overdrive makes too small.
  const gain = whole.readings * Math.log(whole.rss / best.rss);
  const paid = (best.doubled.length + 1) * (PRICE + 2 * Math.log(codes.length));
  if (!(gain > paid) || isOneLevel(codes, best.doubled, cycles)) return [];
  return Math.sqrt(best.rss / whole.readings) < LEFT.noise * noise + LEFT.codes ? [...best.doubled] : [];
}

/** Share of the record's range within which doubled readings lie at one level. */
const ONE_LEVEL = 0.1;

/** Whether all lie at one level, no more than twice a cycle: a step of the converter's own curve, which the tone passes on each slope. */
function isOneLevel(codes: Int32Array, doubled: Int32Array, cycles: number): boolean {
  if (doubled.length > 2 * Math.ceil(cycles * codes.length)) return false;
  const at = doubled.map((n) => codes[n]!);
  const [low, high] = extent(codes);
  return Math.max(...at) - Math.min(...at) < ONE_LEVEL * (high - low);
}

function extent(codes: Int32Array): readonly [low: number, high: number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const code of codes) {
    low = Math.min(low, code);
    high = Math.max(high, code);
  }
  return [low, high];
}

type Tone = NonNullable<ReturnType<typeof kernels.fitAboutLevel>>;

/**
 * Tones to start from: through the first one and a half cycles, which hold many doubled readings of a slow tone; and through a quarter of one, of the size that the extremes have. Of a
 * fast tone the piece that fits best of some near the beginning.
 */
function starts(codes: Int32Array, cycles: number, usable: UsableCodes): Tone[] {
  const omega = 2 * Math.PI * cycles;
  const length = Math.min(codes.length, Math.max(START.readings, Math.ceil(START.cycles / cycles)));
  const found: Tone[] = [];
  let least = Number.POSITIVE_INFINITY;
  for (let first = 0; first <= 4 * START.readings && first + length <= codes.length; first += START.readings >> 1) {
    const { tone, rss } = kernels.fitPiece(codes, omega, first, first + length, usable);
    if (rss >= least) continue;
    least = rss;
    found[0] = tone;
    if (length > START.readings) break;
  }
  const [low, high] = extent(codes);
  const quarter = Math.ceil(0.25 / cycles);
  if (quarter < START.readings) return found;
  const tone = kernels.fitAboutLevel(codes.subarray(0, quarter), omega, (low + high) / 2);
  if (tone === null) return found;
  const scale = (high - low) / 2 / Math.hypot(tone.a, tone.b);
  return [...found, { ...tone, a: tone.a * scale, b: tone.b * scale }];
}
