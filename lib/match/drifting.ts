import type { CaptureRecord, Stretch } from "../capture/record.ts";
import { tQuantile } from "../signal/distributions.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { averages } from "./averages.ts";
import type { Detector, MatchContext } from "./context.ts";
import { FALSE_ALARM } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { type Course, sineCourses } from "./driftingSine.ts";
import type { Finding } from "./finding.ts";
import { say } from "./say.ts";
import { awayFrom } from "./usableCodes.ts";

/** Blocks over a steady record whose means are held against a line. */
const BLOCKS = 16;
/** Fewer cycles of a sine cannot be told from a drift. */
const LEAST_CYCLES = 3;
/** A move that would not be seen in a single reading is no drift worth a warning. */
const LEAST_LSB = 0.3;
/** A quiet quantiser's errors on a sine do not average out (rms below 1/√12 and a fifth of an LSB of noise), and an amplitude is bent by the converter's curve. */
const LEAST_QUIET_LSB = 1;

/** A level, or the middle or amplitude of a sine, that moves through the record. */
export const drifting: Detector = (context) => {
  const { codes, stimulus } = context.record;
  if (codes.length < 60 || context.clean.length !== 1) return [];
  if (stimulus?.kind === "steady") return driftingLevel(context);
  return stimulus?.kind === "sine" ? driftingTone(context) : [];
};

/**
 * The slope of block means, tested by Student's t with their own scatter (chance FALSE_ALARM), and at least 0.3 LSB from end to end. A warm-up that is over early, and leaves
 * the line no slope, is looked for by itself. It is told by a fast beginning: the first half moves more than three times as far as the second.
 */
function driftingLevel(context: MatchContext): Finding[] {
  const { codes } = context.record;
  const means = averages(codes, 0, Math.floor(codes.length / BLOCKS), BLOCKS);
  const n = means.length;
  const middle = (n - 1) / 2;
  let sxy = 0;
  for (let i = 0; i < n; i++) {
    sxy += (i - middle) * means[i]!;
  }
  const sxx = (n * (n * n - 1)) / 12;
  const slope = sxy / sxx;
  // Scatter from the differences of neighbours (von Neumann 1941), which a bent course hardly enters; worth about two thirds of its degrees of freedom.
  let differences = 0;
  for (let i = 1; i < n; i++) differences += (means[i]! - means[i - 1]!) ** 2 / 2;
  const u = Math.sqrt(differences / (n - 1) / sxx);
  const move = slope * n;
  const allowed = LEAST_LSB * converterLsb(context.record);
  const isMoving =
    Math.abs(move) >= allowed && Math.abs(slope) >= tQuantile(1 - FALSE_ALARM / 2, (2 * (n - 1)) / 3) * u;
  const start = isMoving ? null : fastStart(means);
  if (!isMoving && (start === null || Math.abs(start) < allowed)) return [];
  const half = n >> 1;
  const firstHalf = means[half]! - means[0]!;
  const secondHalf = means[n - 1]! - means[half]!;
  const warm =
    start !== null || (Math.abs(firstHalf) > 3 * Math.abs(secondHalf) && Math.abs(firstHalf) > 4 * u * sxx ** 0.5);
  return finding(
    context,
    warm
      ? `The level moves by ${say.lsb(means[n - 1]! - means[0]!)}${duration(context)}, most of it at the beginning (${say.lsb(firstHalf)} in the first half, ${say.lsb(secondHalf)} in the second).`
      : `The level moves by ${say.lsb(move)} from the first reading to the last${duration(context)}.`,
    warm,
  );
}

/** Moves of a sine: of its middle by 0.3 LSB or more, of its amplitude by 1 LSB, each with the significance that sineCourses asks for. */
export function coursesOf(record: CaptureRecord, fit: SineFit, stretch: Stretch, usable: UsableCodes | null): Course[] {
  if (record.codes.length < 60 || fit.cyclesPerReading * record.codes.length < LEAST_CYCLES) return [];
  const lsb = converterLsb(record);
  const quiet = fit.residualRms < 0.36 * lsb;
  return sineCourses(record.codes, fit, stretch, awayFrom(usable, fit)).courses.filter(
    ({ of, size }) => Math.abs(size) >= (quiet || of === "amplitude" ? LEAST_QUIET_LSB : LEAST_LSB) * lsb,
  );
}

function driftingTone(context: MatchContext): Finding[] {
  const { courses: seen } = context;
  if (seen.length === 0) return [];
  const told = seen.map(({ of, size, timeConstant }) =>
    timeConstant === null
      ? `the ${of} of the sine moves by ${say.lsb(size)} from the first reading to the last${duration(context)}`
      : `the ${of} of the sine begins ${say.lsb(Math.abs(size))} too ${size > 0 ? "high" : "low"} and settles with a time constant of about ${say.ratio(timeConstant)} of the record`,
  );
  const text = told.join(", and ");
  return finding(
    context,
    `${text.charAt(0).toUpperCase()}${text.slice(1)}.`,
    seen.some((c) => c.timeConstant !== null),
  );
}

function duration({ rate, record }: MatchContext): string {
  return rate === null ? "" : ` in ${say.seconds(record.codes.length / rate.value)}`;
}

function finding({ record }: MatchContext, text: string, warm: boolean): Finding[] {
  return [
    {
      id: "drifting",
      severity: "warning",
      text,
      cause: warm
        ? "Source, reference or board were still warming up, or a coupling capacitor was charging."
        : "Temperature of source, reference or board, or a reference that sags with the load.",
      advice: "Let everything run for half an hour before the capture, or capture in less time.",
      readings: [[0, record.codes.length - 1]],
      nulls: [],
    },
  ];
}

/** Time constants of a warm-up that a line does not see, blocks. */
const TIME_CONSTANTS = [0.7, 1.5, 3, 6];

/**
 * How far an exponential beginning starts off, by least squares of a constant and exp(−b/τ) over the blocks, for the τ that fits best; tested by Student's t with what that fit
 * leaves (two degrees of freedom for the fit and one for τ), chance FALSE_ALARM over all τ.
 * @returns null where none stands out
 */
function fastStart(means: Float64Array): number | null {
  const n = means.length;
  let best: { size: number; t: number } | null = null;
  for (const tau of TIME_CONSTANTS) {
    const shape = Float64Array.from(means, (_, b) => Math.exp(-b / tau));
    const mx = shape.reduce((sum, x) => sum + x / n, 0);
    const my = means.reduce((sum, y) => sum + y / n, 0);
    let [sxx, sxy, syy] = [0, 0, 0];
    for (let b = 0; b < n; b++) {
      sxx += (shape[b]! - mx) ** 2;
      sxy += (shape[b]! - mx) * (means[b]! - my);
      syy += (means[b]! - my) ** 2;
    }
    const size = sxy / sxx;
    const left = Math.max(1e-12, syy - size * sxy);
    const t = Math.abs(size) / Math.sqrt(left / (n - 3) / sxx);
    if (best === null || t > best.t) best = { size, t };
  }
  return best !== null && best.t > tQuantile(1 - FALSE_ALARM / 2 / TIME_CONSTANTS.length, n - 3) ? best.size : null;
}
