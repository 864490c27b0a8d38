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
/** The same where it shows elsewhere than the fits placed it, and so many times as large it must be there. */
const UNLIKE_FAR = 0.25;
const PLAIN = 1.5;
/** A sine that leaves more than a converter's curve (codes) and so many times the noise does not follow the record, and does not tell what to expect. */
const FOLLOWS = { lsb: 6, noise: 4 };

/**
 * A jump of phase in a record of few cycles, at the place where it shows between neighbouring readings; null where it shows nowhere. Sines fitted to parts of a cycle differ in phase for many
 * reasons (the converter's curve, their own amplitude and offset) although the readings run on smoothly; a loss makes the readings themselves jump by what the tone moves meanwhile. Where that
 * is no more than a converter's own step, or the jump seen is another one, it is no loss that the record shows. The fits may place it a part of a cycle away.
 * @param noise  rms about the tone over short pieces, codes
 * @param lsb    codes to an LSB of the converter
 */
export function jumpShown(
  codes: ArrayLike<number>,
  fit: SineFit,
  found: PhaseStep,
  noise: number,
  lsb: number,
): PhaseStep | null {
  const { at, within, step } = found;
  if (fit.cyclesPerReading > SLOW || fit.cyclesPerReading * codes.length > FEW_CYCLES) return found;
  if (fit.residualRms > FOLLOWS.lsb * lsb + FOLLOWS.noise * noise) return found;
  const width = Math.min(MOST, Math.floor(OF_CYCLE / fit.cyclesPerReading));
  if (width < LEAST || at < width || codes.length - at < width) return found;
  // A straight line of so many readings is known at its end to twice the deviation of its mean, and a quiet quantiser is no white noise.
  const standard = Math.SQRT2 * ((2 * Math.max(noise, 0.29)) / Math.sqrt(width));
  const allowed = DEVIATIONS * standard;
  const sine = alongSine(fit);
  const left = Array.from(codes, (y, n) => y - sine(n));
  const index = Array.from({ length: width }, (_, i) => i);
  /** The jump seen at a place, codes; null where it is not the one expected there. `least` is what must be expected, `unlike` the share by which both may differ. */
  const seenAt = (place: number, least: number, unlike: number): number | null => {
    const theta = 2 * Math.PI * fit.cyclesPerReading * place + fit.phase;
    const expected = fit.amplitude * (Math.cos(theta + step) - Math.cos(theta));
    if (Math.abs(expected) < least) return null;
    const before = fitLine(index, left.slice(place - width, place));
    const after = fitLine(index, left.slice(place, place + width));
    const seen = after.intercept - (before.intercept + before.slope * width);
    return Math.abs(seen - expected) < unlike * Math.abs(expected) + allowed ? Math.abs(seen) : null;
  };
  const least = OWN_STEP * lsb + allowed;
  const reach = within + 2;
  const end = codes.length - width;
  for (let place = Math.max(width, at - reach); place <= Math.min(at + reach, end); place++)
    if (seenAt(place, least, UNLIKE) !== null) return found;
  // Further away there are many places: the jump must be plain, and the whole of it.
  let best: { place: number; seen: number } | null = null;
  const stride = Math.max(1, width >> 4);
  for (let place = width; place <= end; place += stride) {
    const seen = seenAt(place, PLAIN * least, UNLIKE_FAR);
    if (seen !== null && (best === null || seen > best.seen)) best = { place, seen };
  }
  return best === null ? null : { ...found, at: best.place, within: width >> 1 };
}
