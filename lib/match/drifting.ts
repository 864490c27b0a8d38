import { tQuantile } from "../signal/distributions.ts";
import type { Detector } from "./context.ts";
import { FALSE_ALARM } from "./context.ts";
import { phaseBlocks } from "./phaseBlocks.ts";
import { median } from "./robust.ts";
import { say } from "./say.ts";

/** Blocks over the record whose means are held against a line. */
const BLOCKS = 16;
/** A move that would not be seen in a single reading is no drift worth a warning. */
const LEAST_LSB = 0.3;

/**
 * A level that moves through the record: the slope of block means, tested by Student's t with their own scatter (chance FALSE_ALARM), and at least 0.3 LSB from end to
 * end. A warm-up is told by a fast beginning: the first half moves more than three times as far as the second.
 */
export const drifting: Detector = ({ record, fit, rate, seen, clean }) => {
  const { codes, stimulus, scale } = record;
  const kind = stimulus?.kind;
  if ((kind !== "steady" && kind !== "sine") || codes.length < 60) return [];
  let means: Float64Array | null = null;
  let what = "level";
  let noise = 0;
  if (kind === "steady") {
    if (clean.length !== 1) return [];
    means = blockMeans(codes, BLOCKS);
  } else {
    if (fit === null) return [];
    const railed = seen.atBottom + seen.atTop > 0;
    const blocks = phaseBlocks(codes, fit, railed ? (y) => y <= 0 || y >= scale.topCode : null);
    if (blocks === null || blocks.count < BLOCKS) return [];
    means = grouped(blocks.offset, BLOCKS);
    // Harmonics leak into a block's level when it holds no whole number of cycles.
    noise = (2 * median(blocks.residual)) / Math.max(1, fit.cyclesPerReading * blocks.length);
    what = "middle of the sine";
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
  if (!Number.isFinite(move) || Math.abs(move) < LEAST_LSB + noise) return [];
  if (Math.abs(slope) < tQuantile(1 - FALSE_ALARM / 2, (2 * (n - 1)) / 3) * u) return [];
  const half = n >> 1;
  const firstHalf = means[half]! - means[0]!;
  const secondHalf = means[n - 1]! - means[half]!;
  const warm = Math.abs(firstHalf) > 3 * Math.abs(secondHalf) && Math.abs(firstHalf) > 4 * u * sxx ** 0.5;
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

function grouped(values: Float64Array, count: number): Float64Array {
  const length = Math.floor(values.length / count);
  const means = new Float64Array(count);
  for (let b = 0; b < count; b++) means[b] = median(values.subarray(b * length, (b + 1) * length));
  return means;
}
