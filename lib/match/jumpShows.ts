import { alongSine } from "../signal/alongSine.ts";
import { fitLine } from "../signal/linearFit.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { PhaseStep } from "./phaseSteps.ts";

/** Cycles in the record below which pieces of it are too short to know a phase by themselves, and cycles a reading below which neighbouring readings tell a jump. */
const FEW_CYCLES = 3;
const SLOW = 0.004;
/** Readings on either side that a jump is judged by, most and least; and the share of a cycle that they may span. */
const MOST = 64;
const LEAST = 8;
const OF_CYCLE = 0.02;
/** A converter's own steps (a wide code, a major carry), codes: a smaller jump at a code that the record passes once or twice may be one. */
const OWN_STEP = 3;
/** Standard deviations of the jump seen, and share of the expected one, by which both may differ. */
const DEVIATIONS = 5;
const UNLIKE = 0.5;
/** A sine that leaves more than a converter's curve (codes) and so many times the noise does not follow the record, and does not tell what to expect. */
const FOLLOWS = { lsb: 6, noise: 4 };

/**
 * Whether a jump of phase in a record of few cycles shows between neighbouring readings. Sines fitted to parts of a cycle differ in phase for many reasons (the converter's
 * curve, their own amplitude and offset) although the readings run on smoothly; a loss makes the readings themselves jump by what the tone moves meanwhile. Where that is
 * no more than a converter's own step, or the jump seen is another one, it is no loss that the record shows.
 * @param noise  rms about the tone over short pieces, codes
 * @param lsb    codes to an LSB of the converter
 */
export function jumpShows(
  codes: ArrayLike<number>,
  fit: SineFit,
  { at, within, step }: PhaseStep,
  noise: number,
  lsb: number,
): boolean {
  if (fit.cyclesPerReading > SLOW || fit.cyclesPerReading * codes.length > FEW_CYCLES) return true;
  if (fit.residualRms > FOLLOWS.lsb * lsb + FOLLOWS.noise * noise) return true;
  const width = Math.min(MOST, Math.floor(OF_CYCLE / fit.cyclesPerReading), at, codes.length - at);
  if (width < LEAST) return true;
  const theta = 2 * Math.PI * fit.cyclesPerReading * at + fit.phase;
  const expected = fit.amplitude * (Math.cos(theta + step) - Math.cos(theta));
  // A straight line of so many readings is known at its end to twice the deviation of its mean, and a quiet quantiser is no white noise.
  const standard = Math.SQRT2 * ((2 * Math.max(noise, 0.29)) / Math.sqrt(width));
  const allowed = DEVIATIONS * standard;
  if (Math.abs(expected) < OWN_STEP * lsb + allowed) return false;
  const sine = alongSine(fit);
  const reach = within + 2;
  const first = Math.max(0, at - reach - width);
  const left = Array.from(
    { length: Math.min(codes.length, at + reach + width) - first },
    (_, i) => codes[first + i]! - sine(first + i),
  );
  const ends = Array.from({ length: width }, (_, i) => i);
  let nearest = Number.POSITIVE_INFINITY;
  for (let place = Math.max(first + width, at - reach); place <= at + reach; place++) {
    const i = place - first;
    if (i + width > left.length) break;
    const before = fitLine(ends, left.slice(i - width, i));
    const after = fitLine(ends, left.slice(i, i + width));
    const seen = after.intercept - (before.intercept + before.slope * width);
    nearest = Math.min(nearest, Math.abs(seen - expected));
  }
  return nearest < UNLIKE * Math.abs(expected) + allowed;
}
