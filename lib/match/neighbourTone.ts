import type { CaptureRecord } from "../capture/record.ts";
import { alongSine } from "../signal/alongSine.ts";
import { median } from "../signal/median.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { ALL_CODES } from "../signal/usableCodes.ts";
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
/** Orders of the neighbour's own signal that are asked for, a triangle's or a sawtooth's among them, and by how much a leak must exceed the orders beside the one it falls on. */
const ORDERS = 100;
const ABOVE_ORDERS = 3;
/** Cells beside a line where a moving neighbour's own signal shows how much of it lies everywhere, and by how much a leak must exceed that. */
const BESIDE = [3, 4, 5, 6] as const;
const ABOVE_BESIDE = 5;
/** Readings over which these are looked at. */
const LOOKED_AT = 1 << 16;

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
    const known = { frequency: fit.cyclesPerReading, fixed: true, usable: ALL_CODES } as const;
    const plain = fitSine(codes, known);
    if (plain === null) continue;
    const own = plain.residualRms > MOVING_LSB * shift ? ownTone(codes, fit) : null;
    const left = own === null ? codes : withoutTone(codes, own);
    const line = own === null ? plain : fitSine(left, known);
    if (line === null) continue;
    const amplitude = line.amplitude / shift;
    const u = Math.max(line.standard.amplitude / shift, 1e-6);
    if (amplitude > DRIVEN * fit.amplitude) continue;
    const isClear = amplitude > LEAST_LSB && (amplitude / u) ** 2 / 2 > -Math.log(FALSE_ALARM);
    const isMoving = plain.residualRms > MOVING_LSB * shift;
    const isSignificant = isClear && standsOutOfNoise(left, fit) && !(isMoving && isOwnLine(left, own, fit, shift));
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
  const own = fitSine(codes, { last, usable: ALL_CODES });
  if (own === null || own.amplitude < own.residualRms) return null;
  return Math.abs(own.cyclesPerReading - fit.cyclesPerReading) * (last + 1) < APART ? null : own;
}

function withoutTone(codes: ArrayLike<number>, own: SineFit): Float64Array {
  const sine = alongSine(own);
  return Float64Array.from({ length: Math.min(codes.length, MOST_READINGS) }, (_, n) => codes[n]! - sine(n));
}

/**
 * Whether the line at the tone's frequency stands out of what lies beside it, where noise is not white: towards low frequencies noise of a converter grows as 1/f in power at most, and is taken to.
 * The median of exponentially distributed powers is ln 2 of their mean; a handful of them knows it to a third.
 */
function standsOutOfNoise(left: ArrayLike<number>, { cyclesPerReading }: SineFit): boolean {
  const readings = Math.min(left.length, LOOKED_AT);
  const powers = besideOf(cyclesPerReading, readings).map(
    (cycles) => hannLine(left, readings, cycles) ** 2 * Math.max(1, cycles / cyclesPerReading),
  );
  if (powers.length === 0) return true;
  const mean = (1.35 * median(powers)) / Math.LN2;
  return hannLine(left, readings, cyclesPerReading) ** 2 > -Math.log(FALSE_ALARM) * mean;
}

/** Frequencies some cells to both sides of one, away from 0 and half the rate. */
function besideOf(cycles: number, readings: number): number[] {
  const cell = 1 / readings;
  return BESIDE.flatMap((k) => [cycles - k * cell, cycles + k * cell]).filter(
    (f) => f > 2 * cell && f < 0.5 - 2 * cell,
  );
}

/**
 * Whether a line at the tone's frequency may be a moving neighbour's own: a harmonic of its signal, which a triangle or a staircase has at all orders, or what a signal of few cycles
 * leaves everywhere. It is then no larger than the lines beside it, all through a Hann window, so that the record's ends do not count.
 * @param left   the neighbour's readings without its own tone
 * @param shift  of a code in its word, a factor
 */
function isOwnLine(
  left: ArrayLike<number>,
  own: SineFit | null,
  { cyclesPerReading }: SineFit,
  shift: number,
): boolean {
  const readings = Math.min(left.length, LOOKED_AT);
  const lineAt = (cycles: number): number => hannLine(left, readings, cycles);
  // So near to 0 a signal of few cycles has nothing but itself on one side.
  if (cyclesPerReading * readings < BESIDE[3]) return true;
  const line = lineAt(cyclesPerReading);
  const beside = besideOf(cyclesPerReading, readings);
  if (beside.length > 0 && line < ABOVE_BESIDE * median(beside.map(lineAt))) return true;
  if (own === null) return false;
  const harmonic = (order: number): number => foldedFrequency(order * own.cyclesPerReading);
  const cells = (order: number): number => Math.abs(harmonic(order) - cyclesPerReading) * readings;
  for (let order = 2; order <= ORDERS; order++) {
    if (cells(order) >= APART) continue;
    const near = [1, 2, 3, 4, 5, 6, 7, 8].flatMap((k) => [order - k, order + k]);
    const lines = near
      .filter((k) => k > 1 && cells(k) >= BESIDE[0])
      .slice(0, 4)
      .map((k) => lineAt(harmonic(k)));
    if (line < Math.max(LEAST_HARMONIC_LSB * shift, ABOVE_ORDERS * Math.max(0, ...lines))) return true;
  }
  return false;
}

/** Amplitude of the line at a frequency, through a Hann window; readings without a value count as the mean. */
function hannLine(values: ArrayLike<number>, readings: number, cycles: number): number {
  let [sum, count] = [0, 0];
  for (let n = 0; n < readings; n++)
    if (!Number.isNaN(values[n]!)) {
      sum += values[n]!;
      count++;
    }
  let [re, im] = [0, 0];
  for (let n = 0; n < readings; n++) {
    if (Number.isNaN(values[n]!)) continue;
    const weight = (1 - Math.cos((2 * Math.PI * (n + 0.5)) / readings)) * (values[n]! - sum / count);
    re += weight * Math.cos(2 * Math.PI * cycles * n);
    im += weight * Math.sin(2 * Math.PI * cycles * n);
  }
  return (2 * Math.hypot(re, im)) / readings;
}

/** The log's other channels: read as such, or as columns beside the one that was asked for. */
function neighbours({ log, channel }: CaptureRecord): { name: string; codes: ArrayLike<number> }[] {
  const beside = [...log.columns].map(([name, codes]) => ({ name, codes }));
  return [...log.channels, ...beside].filter(({ name }) => name !== channel);
}
