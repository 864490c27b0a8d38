import { kernels } from "../kernels/kernels.generated.js";
import { normalQuantile } from "../signal/distributions.ts";
import { median } from "../signal/median.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { FALSE_ALARM } from "./context.ts";
import type { PhaseBlocks } from "./phaseBlocks.ts";

/** A place where the phase of a sine record jumps. */
export interface PhaseStep {
  /** The first reading after the jump; good to `within` readings. */
  readonly at: number;
  readonly within: number;
  /** By how much the phase jumps, rad, in (−π, π]; readings lost give a positive step of 2π·c a reading (for c below ½). */
  readonly step: number;
  /** Standard uncertainty of the step. */
  readonly standard: number;
}

/** More jumps than this are not listed one by one. */
const MOST_STEPS = 200;

/**
 * Jumps of phase between blocks, by comparing the mean phase of a few blocks before with as many after, for windows of 1, 2, 4 … blocks; the highest
 * first, then again on both sides of it. The spread is taken from the record itself (median deviations at each window), so that a clock
 * that wanders is no jump.
 * A jump of any size is seen, also near π, because blocks are demodulated each on its own.
 * Threshold: normal quantile for FALSE_ALARM over all places and windows tried.
 */
export function phaseSteps(blocks: PhaseBlocks, fit: SineFit, codes: Int32Array): PhaseStep[] {
  const { count, length } = blocks;
  const phase = blocks.phase;
  // The reference may run off a little; the median advance over more and more blocks is the true one. Jumps at every turn of a buffer would pass for a slope: over
  // more blocks than lie between two of them each advance holds one. What one block's advances do not bear out is none.
  let slope = 0;
  let level = phase;
  let known = Number.POSITIVE_INFINITY;
  for (const reach of new Set([1, Math.max(1, Math.floor(count / 32)), Math.max(1, Math.floor(count / 16))])) {
    const over = kernels.advances(level, reach);
    const more = median(over);
    if (Math.abs(more) > 6 * known) break;
    slope += more;
    level = kernels.withoutSlope(phase, slope);
    // Standard error of a median, 1.25·σ/√count, and half as much again for what harmonics do to a block.
    if (reach === 1) known = (1.9 * quarterDeviation(over.map((x) => x - more))) / Math.sqrt(count) + 1e-6;
  }
  const typicalResidual = median(blocks.residual);
  const white = (Math.SQRT2 * Math.max(typicalResidual, 0.2)) / (fit.amplitude * Math.sqrt(length));
  const one = Math.max(white, quarterDeviation(kernels.advances(level, 1)) / Math.SQRT2);

  const windows: number[] = [];
  for (let w = 1; w <= count / 4 && w <= 256; w *= 2) windows.push(w);
  const threshold = -normalQuantile(FALSE_ALARM / (2 * count * windows.length));
  const stride = Math.max(1, Math.floor(count / 512));
  const scales = Float64Array.from(windows, (w) =>
    Math.max(one * Math.sqrt(2 / w), quarterDeviation(kernels.jumpsOver(level, w, stride))),
  );

  const found: { b: number; span?: number; step: number; standard: number }[] = [];
  const search = (first: number, last: number): void => {
    if (last - first < 2 || found.length >= MOST_STEPS) return;
    const best = kernels.clearestJump(level, Int32Array.from(windows), scales, one, threshold, first, last);
    if (best === null) return;
    // Windows reach over the block that holds the jump; the place is where both sides agree best among themselves.
    const place = handover(level, best.block, first, last);
    // A jump that two blocks show needs no line through more of them, which might reach over the next jump.
    const plain = Math.abs(place.step) > 2 * threshold * one;
    const { step, factor } = plain
      ? { step: place.step, factor: Math.SQRT2 }
      : lineStep(level, place.b, Math.max(2, best.window), first, last);
    const agrees = Math.abs(wrap(place.step - step)) < 0.5 * Math.abs(step);
    if (agrees && Math.abs(step) > threshold * one * factor)
      found.push({ b: place.b, step, standard: Math.max(one * factor, best.standard) });
    search(first, place.b - 1);
    search(place.b + 1, last);
  };
  search(0, count - 1);
  found.sort((p, q) => p.b - q.b);
  // Two jumps in neighbouring blocks leave no block between them to tell how much each is: one jump, of both together.
  for (let i = found.length - 1; i > 0; i--)
    if (found[i]!.b - found[i - 1]!.b <= 2) {
      const [first, second] = [found[i - 1]!, found[i]!];
      found.splice(i - 1, 2, {
        b: first.b,
        span: second.b - first.b + (second.span ?? 0),
        step: 0,
        standard: second.standard,
      });
    }
  // A jump was measured before its neighbours were known: now between them only.
  return found.map(({ b, span = 0, standard }, i) => {
    const before = (found[i - 1] ? found[i - 1]!.b + (found[i - 1]!.span ?? 0) : -1) + 1;
    const after = (found[i + 1]?.b ?? count) - 1;
    const { step, factor } = lineStep(level, b, windows.at(-1) ?? 1, before, after, span);
    const place = locate(codes, fit, blocks, slope, level, b, span);
    return { ...place, step, standard: Math.max(one * factor, Math.min(standard, one)) };
  });
}

/** Blocks on each side that settle where a jump is, and whether it lasts. */
const SIDE = 5;

/**
 * The block, near b, that separates two sides of constant phase best, and the jump between their medoids. A single upset reading spoils one block and passes for a
 * jump between its neighbours; the medoids of five blocks do not see it.
 */
function handover(level: Float64Array, b: number, first: number, last: number): { b: number; step: number } {
  let best = { b, step: 0, cost: Number.POSITIVE_INFINITY };
  for (let at = Math.max(first + 1, b - 2); at <= Math.min(last - 1, b + 2); at++) {
    const before = medoid(level, Math.max(first, at - SIDE), at - 1);
    const after = medoid(level, at + 1, Math.min(last, at + SIDE));
    const cost = before.cost + after.cost;
    if (cost < best.cost) best = { b: at, step: wrap(after.value - before.value), cost };
  }
  return best;
}

/** The phase nearest to all others of a stretch, and the mean distance of the others from it. */
function medoid(level: Float64Array, first: number, last: number): { value: number; cost: number } {
  let value = level[first] ?? 0;
  let cost = Number.POSITIVE_INFINITY;
  for (let i = first; i <= last; i++) {
    let sum = 0;
    for (let j = first; j <= last; j++) sum += Math.abs(wrap(level[j]! - level[i]!));
    const mean = sum / (last - first + 1);
    if (mean < cost) {
      cost = mean;
      value = level[i]!;
    }
  }
  return { value, cost };
}

/**
 * The jump at block b by least squares with a line through w blocks on either side, so that a reference that runs off does not enter.
 * @param span  blocks after b that belong to neither side either
 * @returns the jump, and its standard uncertainty in units of one block's
 */
function lineStep(
  level: Float64Array,
  b: number,
  w: number,
  first: number,
  last: number,
  span = 0,
): { step: number; factor: number } {
  const from = Math.max(first, b - w);
  const end = b + span;
  const to = Math.min(last, end + w);
  const reference = [
    medoid(level, Math.max(from, b - SIDE), b - 1).value,
    medoid(level, end + 1, Math.min(to, end + SIDE)).value,
  ];
  const size = [b - from, to - end];
  if (size[0]! < 1 || size[1]! < 1) return { step: wrap(reference[1]! - reference[0]!), factor: Math.SQRT2 };
  // A common slope about the two sides' own middles.
  const mean = [0, 0];
  const place = [0, 0];
  for (let i = from; i <= to; i++) {
    if (i >= b && i <= end) continue;
    const side = i < b ? 0 : 1;
    mean[side]! += wrap(level[i]! - reference[side]!) / size[side]!;
    place[side]! += (i - b) / size[side]!;
  }
  let sxx = 0;
  let sxy = 0;
  for (let i = from; i <= to; i++) {
    if (i >= b && i <= end) continue;
    const side = i < b ? 0 : 1;
    const x = i - b - place[side]!;
    sxx += x * x;
    sxy += x * wrap(level[i]! - reference[side]!);
  }
  const apart = place[1]! - place[0]!;
  const useSlope = Math.min(size[0]!, size[1]!) >= 3;
  const slope = useSlope ? sxy / sxx : 0;
  const step = wrap(reference[1]! - reference[0]! + mean[1]! - mean[0]! - slope * apart);
  return { step, factor: Math.sqrt(1 / size[0]! + 1 / size[1]! + (useSlope ? apart ** 2 / sxx : 0)) };
}

/**
 * Standard deviation by the smallest quarter of the sizes: of a Gaussian a quarter lies within 0.3186 deviations. Each jump enters all windows that reach over it,
 * so that in a short record most of them are not clean.
 */
function quarterDeviation(values: Float64Array): number {
  return values.length === 0 ? 0 : kernels.quantileOfSizes(values, 0.25) / 0.3186;
}

/** The reading at which the sine before hands over to the sine after: where the squared misses of both, added up, are least. */
function locate(
  codes: Int32Array,
  fit: SineFit,
  blocks: PhaseBlocks,
  slope: number,
  level: Float64Array,
  b: number,
  span: number,
): Pick<PhaseStep, "at" | "within"> {
  const { length, count } = blocks;
  const first = Math.max(0, (b - 1) * length);
  const last = Math.min(codes.length - 1, (b + span + 2) * length - 1);
  const c = fit.cyclesPerReading + slope / (2 * Math.PI * length);
  // A block's phase is that of its middle.
  const middle = (block: number): number => (block + 0.5) * length;
  const phaseAt = (block: number): number => {
    const from = middle(block);
    const turns = fit.cyclesPerReading * from;
    return 2 * Math.PI * (turns - Math.floor(turns)) + fit.phase + level[block]! + slope * block;
  };
  const left = Math.max(0, b - 1);
  const right = Math.min(count - 1, b + span + 1);
  const amplitude = median(blocks.amplitude);
  const offset = median(blocks.offset);
  const sine = (block: number, n: number): number => {
    const turns = c * (n - middle(block));
    return offset + amplitude * Math.cos(2 * Math.PI * (turns - Math.round(turns)) + phaseAt(block));
  };
  let before = 0;
  let after = 0;
  for (let n = first; n <= last; n++) after += (codes[n]! - sine(right, n)) ** 2;
  let at = first;
  let least = after;
  const curve: number[] = [after];
  for (let n = first; n <= last; n++) {
    before += (codes[n]! - sine(left, n)) ** 2;
    after -= (codes[n]! - sine(right, n)) ** 2;
    curve.push(before + after);
    if (before + after < least) {
      least = before + after;
      at = n + 1;
    }
  }
  // Places whose misfit is not worse by more than 95 % of chance would make it.
  const noise = Math.max(median(blocks.residual), 0.3) ** 2;
  let within = 0;
  curve.forEach((value, i) => {
    if (value < least + 4 * noise) within = Math.max(within, Math.abs(first + i - at));
  });
  // Of two jumps in neighbouring blocks either may be meant.
  return { at, within: span > 0 ? Math.max(within, (span + 1) * length) : within };
}

/** An angle brought into (−π, π]. */
export function wrap(angle: number): number {
  const turned = angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
  return turned <= -Math.PI ? turned + 2 * Math.PI : turned;
}
