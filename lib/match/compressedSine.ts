import { kernels } from "../kernels/kernels.generated.js";
import { FALSE_ALARM, type MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { explained, type PhaseCurve, phaseCurve } from "./phaseCurve.ts";
import { awayFrom } from "./usableCodes.ts";

/** A sine whose peaks fall short of one: how far at each end (0: not at all), codes. */
export interface CompressedSine {
  readonly top: number;
  readonly bottom: number;
}

/** Readings that are folded at most; more add nothing to what stands out of INL. */
const MOST_READINGS = 1 << 17;

/**
 * Courses of a compression over the sine's own −1…1: nothing up to the knee, then a power of what lies beyond. A saturating amplifier (tanh) goes with the third power
 * from the middle on, a diode or a rail with the first power from close to the peak.
 */
const SHAPES = [
  { knee: 0, power: 2 },
  { knee: 0, power: 3 },
  { knee: 0, power: 5 },
  { knee: 0.3, power: 2 },
  { knee: 0.5, power: 1 },
  { knee: 0.5, power: 2 },
  { knee: 0.7, power: 1 },
  { knee: 0.7, power: 2 },
  { knee: 0.8, power: 1 },
  { knee: 0.9, power: 1 },
  { knee: 0.95, power: 1 },
] as const;
const KNEES = Float64Array.from(SHAPES, (shape) => shape.knee);
const POWERS = Float64Array.from(SHAPES, (shape) => shape.power);
/** From this knee on the course is a corner. */
const SHARP = 0.9;
/** Orders that a compression has. */
const HARMONICS = [2, 7] as const;

/**
 * What a converter's own INL may look like at most, LSB: a bow or a wrong high bit of 3 LSB leaves up to 9 of a smooth course at one end, an S of 1 LSB up to 4 at both, hardly anything of it beyond
 * a knee, where steps of its own of up to 3 LSB remain. Share of the amplitude: third-order distortion below −50 dB is a converter's or a source's, and belongs in THD.
 */
const LEAST = { one: 10, both: 7, knee: 5, sharp: 4 };
const LEAST_SHARE = { smooth: 0.012, knee: 0.007 };
/** Share of all that goes with the phase that the compression must explain: an impure source has its harmonics at other phases, and a bent converter bends both ends one way. */
const LEAST_EXPLAINED = { smooth: 0.8, sharp: 0.65 };

/** Orders that a compression with a soft knee hardly has and a converter's curve does, and how many readings each needs. */
const HIGHER = { from: 8, most: 16, readings: 12 };
/**
 * Code widths that scatter independently add up to a curve whose power falls with the square of the order (the sum of white noise): its orders below 8 hold some six times what those from 8 to 23
 * do. So many times as much is asked of a compression: of 1200 curves of 0.2 LSB a code, 8 to 16 bits, the most was 57, of 4 % of compression beside them the least 54.
 */
const ABOVE_WALK = 50;
const walkPower = (count: number): number =>
  Array.from({ length: count }, (_, i) => (HIGHER.from + i) ** -2).reduce((sum, power) => sum + power, 0);

/**
 * Soft clipping: the remainder over the sine's phase is what a compression towards one or both peaks leaves, and little else. With normal noise a course with two sizes explains a share q of the
 * remainder's squares with chance (1 − q)^(ν/2) (F distribution with 2 and ν degrees of freedom), which must stay below FALSE_ALARM over all courses.
 */
export function compressedSine({ record, fit, clean, usable }: MatchContext): CompressedSine | null {
  if (fit === null) return null;
  const [first, end] = clean.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
  const last = Math.min(end, first + MOST_READINGS - 1);
  // In a part of a cycle a compression is hardly told from another size and middle of the sine.
  if (last - first < 40 || fit.cyclesPerReading * (last - first) < 1) return null;
  const curve = phaseCurve(record.codes, fit, first, last, awayFrom(usable, fit));
  const sine = explained(curve, null);
  const any = explained(curve, HARMONICS);
  if (sine === null) return null;
  const total = curve.squares - sine.squares;
  const withPhase = any === null ? 0 : any.squares - sine.squares;
  const lsb = converterLsb(record);
  // The smallest compression that counts leaves a twentieth of its size as rms.
  if (any !== null && withPhase < curve.readings * (0.05 * LEAST.sharp * lsb) ** 2) return null;
  const best = bestCourse(curve, sine.squares);
  if (best === null) return null;
  const freedom = curve.readings - 6;
  const logChance = (freedom / 2) * Math.log1p(-Math.min(1 - 1e-12, best.squares / total));
  if (logChance > Math.log(FALSE_ALARM / SHAPES.length)) return null;
  const scatter = (total - Math.max(best.squares, withPhase)) / Math.max(1, curve.readings - 16);
  if (best.squares < LEAST_EXPLAINED[best.knee >= SHARP ? "sharp" : "smooth"] * withPhase - 12 * scatter) return null;
  const [more, less] = [Math.max(best.top, best.bottom), Math.min(best.top, best.bottom)];
  const isBoth = less > 0.6 * more;
  const least = best.knee >= SHARP ? LEAST.sharp : best.knee >= 0.5 ? LEAST.knee : isBoth ? LEAST.both : LEAST.one;
  const share = best.knee >= 0.5 ? LEAST_SHARE.knee : LEAST_SHARE.smooth;
  // Two standard deviations below what was found, by the deviations at which it stands out.
  const surely = more * (1 - 2 / Math.sqrt(best.squares / scatter));
  if (surely < Math.max(least * lsb, share * fit.amplitude)) return null;
  const thd = record.stimulus?.kind === "sine" ? record.stimulus.purity.thd : null;
  const distortion = Math.sqrt((2 * best.squares) / curve.readings) / fit.amplitude;
  if (thd !== null && distortion < 1.5 * 10 ** (thd / 20)) return null;
  if (best.knee < SHARP && best.squares < ABOVE_WALK * ofWalk(curve, best, scatter)) return null;
  return { top: best.top, bottom: best.bottom };
}

/** Squares that the orders 8 to 23 of the converter's own curve hold, at most: what they explain beside the course, less what noise gives, and a deviation of that. */
function ofWalk(curve: PhaseCurve, { courses, squares, ofSine }: Course, scatter: number): number {
  const count = Math.min(HIGHER.most, Math.floor(curve.readings / HIGHER.readings));
  const all = explained(curve, [HIGHER.from, HIGHER.from + count - 1], courses);
  if (all === null) return Number.POSITIVE_INFINITY;
  const higher = all.squares - ofSine - squares - 2 * count * scatter;
  return (Math.max(0, higher + scatter * Math.sqrt(4 * count)) * walkPower(HIGHER.most)) / walkPower(count);
}

interface Course extends CompressedSine {
  readonly knee: number;
  /** Over the bins of phase: at one end or both. */
  readonly courses: Float64Array;
  /** What a sine explains of the remainder's squares. */
  readonly ofSine: number;
  /** What it explains of the remainder's squares beyond a sine. */
  readonly squares: number;
}

/** The course that explains most. */
function bestCourse(curve: PhaseCurve, ofSine: number): Course | null {
  const best = kernels.bestCompression(curve, KNEES, POWERS, ofSine);
  return best && { ...best, knee: KNEES[best.shape]!, ofSine };
}
