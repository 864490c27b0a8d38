import { tQuantile } from "../signal/distributions.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { Detector } from "./context.ts";
import { FALSE_ALARM } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { say } from "./say.ts";
import { exclusion } from "./usableCodes.ts";

/** Blocks over the record whose means are held against a line. */
const BLOCKS = 16;
/** Fewer cycles of a sine cannot be told from a drift. */
const LEAST_CYCLES = 4;
/** A move that would not be seen in a single reading is no drift worth a warning. */
const LEAST_LSB = 0.3;
/** A quiet quantiser's errors on a sine do not average out: rms below 1/√12 and a fifth of an LSB of noise. */
const LEAST_QUIET_LSB = 1;

/**
 * A level that moves through the record: the slope of block means, tested by Student's t with their own scatter (chance FALSE_ALARM), and at least 0.3 LSB from end to
 * end. A warm-up that is over early, and leaves the line no slope, is looked for by itself. It is told by a fast beginning: the first half moves more than three times as far as the second.
 */
export const drifting: Detector = ({ record, fit, rate, clean, usable }) => {
  const { codes, stimulus } = record;
  const kind = stimulus?.kind;
  if ((kind !== "steady" && kind !== "sine") || codes.length < 60) return [];
  let means: Float64Array | null = null;
  let what = "level";
  let noise = 0;
  let quiet = false;
  if (kind === "steady") {
    if (clean.length !== 1) return [];
    means = blockMeans(codes, BLOCKS);
  } else {
    if (fit === null || clean.length !== 1 || fit.cyclesPerReading * codes.length < LEAST_CYCLES) return [];
    means = remainderMeans(codes, fit, exclusion(usable), BLOCKS);
    // Of harmonics a block that holds no whole number of cycles keeps this much at most.
    noise = (2 * fit.residualRms) / Math.max(1, (fit.cyclesPerReading * codes.length) / BLOCKS) / Math.PI;
    what = "middle of the sine";
    quiet = fit.residualRms < 0.36 * converterLsb(record);
  }
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
  const least = quiet ? LEAST_QUIET_LSB : LEAST_LSB;
  const allowed = least * converterLsb(record) + noise;
  if (!means.every(Number.isFinite)) return [];
  const isMoving =
    Math.abs(move) >= allowed && Math.abs(slope) >= tQuantile(1 - FALSE_ALARM / 2, (2 * (n - 1)) / 3) * u;
  // A sine of few readings leaves its blocks no even scatter.
  const start = isMoving || (kind === "sine" && codes.length < 20 * n) ? null : fastStart(means);
  if (!isMoving && (start === null || Math.abs(start) < allowed)) return [];
  const half = n >> 1;
  const firstHalf = means[half]! - means[0]!;
  const secondHalf = means[n - 1]! - means[half]!;
  const warm =
    start !== null || (Math.abs(firstHalf) > 3 * Math.abs(secondHalf) && Math.abs(firstHalf) > 4 * u * sxx ** 0.5);
  const duration = rate === null ? "" : ` in ${say.seconds(codes.length / rate.value)}`;
  return [
    {
      id: "drifting",
      severity: "warning",
      text: warm
        ? `The ${what} moves by ${say.lsb(means[n - 1]! - means[0]!)}${duration}, most of it at the beginning (${say.lsb(firstHalf)} in the first half, ${say.lsb(secondHalf)} in the second).`
        : `The ${what} moves by ${say.lsb(move)} from the first reading to the last${duration}.`,
      cause: warm
        ? "Source, reference or board were still warming up, or a coupling capacitor was charging."
        : "Temperature of source, reference or board, or a reference that sags with the load.",
      advice: "Let everything run for half an hour before the capture, or capture in less time.",
      readings: [[0, codes.length - 1]],
      nulls: [],
    },
  ];
};

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

function blockMeans(codes: Int32Array, count: number): Float64Array {
  const length = Math.floor(codes.length / count);
  const means = new Float64Array(count);
  for (let b = 0; b < count; b++) {
    let sum = 0;
    for (let n = b * length; n < (b + 1) * length; n++) sum += codes[n]!;
    means[b] = sum / length;
  }
  return means;
}

/** Means of what the sine leaves, block by block; the sine itself takes a drift up as little as it has whole cycles. */
function remainderMeans(
  codes: Int32Array,
  fit: SineFit,
  exclude: ((code: number) => boolean) | null,
  count: number,
): Float64Array {
  const length = Math.floor(codes.length / count);
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  const means = new Float64Array(count);
  for (let b = 0; b < count; b++) {
    const turns = fit.cyclesPerReading * b * length;
    let c = Math.cos(2 * Math.PI * (turns - Math.floor(turns)) + fit.phase);
    let s = Math.sin(2 * Math.PI * (turns - Math.floor(turns)) + fit.phase);
    let sum = 0;
    let used = 0;
    for (let n = b * length; n < (b + 1) * length; n++) {
      const code = codes[n]!;
      if (exclude === null || !exclude(code)) {
        sum += code - fit.offset - fit.amplitude * c;
        used++;
      }
      const next = c * stepC - s * stepS;
      s = s * stepC + c * stepS;
      c = next;
    }
    means[b] = used > 0 ? sum / used : 0;
  }
  return means;
}
