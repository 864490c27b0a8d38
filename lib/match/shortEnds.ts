import { kernels } from "../kernels/kernels.generated.js";
import { fitLine } from "../signal/linearFit.ts";
import type { MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { triangleModel, triangleOf } from "./sweepModel.ts";

/** An end of a ramp or triangle that falls short of where its straight part leads. */
export interface ShortEnd {
  readonly side: "top" | "bottom";
  readonly readings: number;
  /** Mean shortfall over them, codes. */
  readonly short: number;
}

/** Share of the span at each end that the straight part leaves out, and share within which an end is judged. */
const LEFT_OUT = 0.1;
const JUDGED = 0.015;
/** What INL of some LSB bends the ends away from the middle's line at most: LSB, and share of the span. */
const BENT = { lsb: 5, share: 0.004 };
/** Readings whose expected values are worked out at once. */
const CHUNK = 1 << 14;
/** Standard deviations of the mean at an end. */
const DEVIATIONS = 5;

/**
 * Ends inside the range at which a ramp or triangle is flattened although noise spreads the plateau over many codes: the mean of the end's readings stands below the
 * line (or triangle) fitted to the middle. Allowed are a converter's ordinary INL and five standard deviations of that mean (one clean record in 3 million).
 */
export function shortEnds({ record, seen, clean }: MatchContext): ShortEnd[] {
  const { codes, scale, stimulus } = record;
  const readings = codes.length;
  if (clean.length !== 1 || readings < 256) return [];
  const span = seen.max - seen.min;
  const isTop = seen.max < scale.topCode;
  const isBottom = seen.min > 0;
  if (!isTop && !isBottom) return [];
  const moving = { floor: seen.min + LEFT_OUT * span, ceiling: seen.max - LEFT_OUT * span };
  const triangle = stimulus?.kind === "triangle" ? triangleModel(record, moving, clean[0]!) : null;
  let valuesAt: (first: number, count: number) => Float64Array;
  let rms: number;
  let peak: number;
  let low: number;
  if (triangle !== null) {
    const shape = triangleOf(triangle);
    valuesAt = (first, count) => kernels.triangleValues(shape, first, count);
    rms = triangle.residualRms;
    peak = triangle.offset + triangle.amplitude;
    low = triangle.offset - triangle.amplitude;
  } else {
    if (stimulus?.kind !== "ramp") return [];
    const from = Math.ceil((LEFT_OUT + 0.05) * readings);
    const inner = codes.subarray(from, readings - from);
    const x = Float64Array.from(inner, (_, i) => from + i);
    const line = fitLine(x, inner);
    const at = (n: number): number => line.intercept + line.slope * n;
    valuesAt = (first, count) => {
      const values = new Float64Array(count);
      for (let i = 0; i < count; i++) values[i] = at(first + i);
      return values;
    };
    rms = line.residualSd ?? 0;
    [low, peak] = [Math.min(at(0), at(readings - 1)), Math.max(at(0), at(readings - 1))];
  }
  // A stimulus that goes on beyond the range is cut by the converter itself.
  peak = Math.min(peak, scale.topCode);
  low = Math.max(low, 0);
  const ends: ShortEnd[] = [];
  for (const side of ["top", "bottom"] as const) {
    if (side === "top" ? !isTop : !isBottom) continue;
    let sum = 0;
    let count = 0;
    let values = new Float64Array(0) as Float64Array;
    for (let n = 0; n < readings; n++) {
      if (n % CHUNK === 0) values = valuesAt(n, Math.min(CHUNK, readings - n));
      const model = Math.max(low, Math.min(peak, values[n % CHUNK]!));
      if ((side === "top" ? peak - model : model - low) > JUDGED * (peak - low)) continue;
      sum += side === "top" ? model - codes[n]! : codes[n]! - model;
      count++;
    }
    const short = sum / count;
    if (count < 5) continue;
    const allowed = BENT.lsb * converterLsb(record) + BENT.share * (peak - low) + (DEVIATIONS * rms) / Math.sqrt(count);
    if (short > allowed) ends.push({ side, readings: count, short });
  }
  return ends;
}
