import type { CaptureRecord } from "../capture/record.ts";
import { alongSine } from "../signal/alongSine.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { FALSE_ALARM } from "./context.ts";
import { foldedFrequency } from "./foldedFrequency.ts";

/** What a tone on one channel leaves on another channel of the same log. */
export interface NeighbourTone {
  readonly channel: string;
  /** Amplitude at the tone's frequency over the tone's own, freed of what noise adds; 0 or more. */
  readonly ratio: number;
  /** Standard uncertainty of the ratio, from the neighbour's noise. */
  readonly standard: number;
  /** In LSB of the neighbour. */
  readonly amplitude: number;
  readonly isSignificant: boolean;
}

/** A neighbour with more than this share of the tone is driven on purpose. */
const DRIVEN = 0.1;
/** Lines of the quantiser itself, and what no one can act on, stay below this. */
const LEAST_LSB = 0.1;
/** Where a harmonic of the neighbour's own tone falls on the tone, its own curve may show that much. */
const LEAST_HARMONIC_LSB = 3;
/** A neighbour that is steady leaves less about the tone than this; more may be a tone of its own. */
const MOVING_LSB = 5;
/** A neighbour's own tone is taken off over at most this many readings. */
const MOST_READINGS = 1 << 20;
/** Cells of resolution by which two tones must lie apart. */
const APART = 1.5;

/**
 * Every other channel of the log, at the frequency fitted to this one. The squared amplitude of white noise at one frequency is exponentially distributed, so
 * that A²/(2u²) > ln(1/FALSE_ALARM) is a line.
 * Words of both channels are compared as logged: the same coding and alignment are taken for granted.
 */
export function neighbourTones(record: CaptureRecord, fit: SineFit): NeighbourTone[] {
  const { converter } = record.spec;
  const shift = converter.align === "left" ? 2 ** (converter.container - converter.bits) : 1;
  const found: NeighbourTone[] = [];
  for (const { name, codes } of neighbours(record)) {
    if (codes.length < 32) continue;
    let constant = true;
    for (let n = 1; n < codes.length && constant; n++) constant = codes[n] === codes[0];
    if (constant) {
      // A neighbour that never moves shows nothing above half a code.
      found.push({ channel: name, ratio: 0, standard: 0.25 / fit.amplitude, amplitude: 0, isSignificant: false });
      continue;
    }
    const known = { frequency: fit.cyclesPerReading, fixed: true, exclude: Number.isNaN } as const;
    const plain = fitSine(codes, known);
    if (plain === null) continue;
    const own = plain.residualRms > MOVING_LSB * shift ? ownTone(codes, fit) : null;
    const line = own === null ? plain : fitSine(withoutTone(codes, own), known);
    if (line === null) continue;
    const amplitude = line.amplitude / shift;
    const u = Math.max(line.standard.amplitude / shift, 1e-6);
    if (amplitude > DRIVEN * fit.amplitude) continue;
    const least = own !== null && isHarmonic(own, fit) ? LEAST_HARMONIC_LSB : LEAST_LSB;
    const isSignificant = amplitude > least && (amplitude / u) ** 2 / 2 > -Math.log(FALSE_ALARM);
    const debiased = Math.sqrt(Math.max(0, amplitude ** 2 - 2 * u ** 2));
    found.push({
      channel: name,
      ratio: debiased / fit.amplitude,
      standard: u / fit.amplitude,
      amplitude,
      isSignificant,
    });
  }
  return found;
}

/** A tone that drives the neighbour itself: it would drown what leaks into it. Null where there is none, or none that can be told from the leak. */
function ownTone(codes: ArrayLike<number>, fit: SineFit): SineFit | null {
  const last = Math.min(codes.length, MOST_READINGS) - 1;
  const own = fitSine(codes, { last, exclude: Number.isNaN });
  if (own === null || own.amplitude < own.residualRms) return null;
  return Math.abs(own.cyclesPerReading - fit.cyclesPerReading) * (last + 1) < APART ? null : own;
}

function withoutTone(codes: ArrayLike<number>, own: SineFit): Float64Array {
  const sine = alongSine(own);
  return Float64Array.from({ length: Math.min(codes.length, MOST_READINGS) }, (_, n) => codes[n]! - sine(n));
}

function isHarmonic(own: SineFit, { cyclesPerReading, readings }: SineFit): boolean {
  for (let order = 2; order <= 10; order++)
    if (Math.abs(foldedFrequency(order * own.cyclesPerReading) - cyclesPerReading) * readings < APART) return true;
  return false;
}

/** The log's other channels: read as such, or as columns beside the one that was asked for. */
function neighbours({ log, channel }: CaptureRecord): { name: string; codes: ArrayLike<number> }[] {
  const beside = [...log.columns].map(([name, codes]) => ({ name, codes }));
  return [...log.channels, ...beside].filter(({ name }) => name !== channel);
}
