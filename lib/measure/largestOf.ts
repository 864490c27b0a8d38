import { normalQuantile } from "../signal/distributions.ts";

/** The largest of several uncertain figures. */
export interface Largest {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  /** Where the largest was found. */
  readonly index: number;
  /** How many of the figures could be the largest, chance allowed for. */
  readonly contenders: number;
}

const Z95 = normalQuantile(0.975);

/**
 * The interval of a maximum over figures that each have their own uncertainty. The largest of many noisy figures is one that chance pushed up, so the lower end is
 * taken back by as much as the best of the contenders may have been pushed (Bonferroni over those whose own intervals reach the top); the upper end
 * is that of the figure which reaches furthest. With one plain winner this is its own interval; with many it covers more than 95 %.
 * @param values      the figures, at least one
 * @param halfWidths  of each at 95 %
 * @throws RangeError no figures
 */
export function largestOf(values: ArrayLike<number>, halfWidths: ArrayLike<number>): Largest {
  const n = values.length;
  if (!(n >= 1)) throw new RangeError("largestOf: requires at least one figure");
  let index = 0;
  let reached = Number.NEGATIVE_INFINITY;
  let floor = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < n; i++) {
    if (values[i]! > values[index]!) index = i;
    reached = Math.max(reached, values[i]! + halfWidths[i]!);
    floor = Math.max(floor, values[i]! - halfWidths[i]!);
  }
  let contenders = 0;
  for (let i = 0; i < n; i++) if (values[i]! + halfWidths[i]! >= floor) contenders++;
  const wider = normalQuantile(1 - 0.025 / contenders) / Z95;
  let low = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < n; i++) low = Math.max(low, values[i]! - wider * halfWidths[i]!);
  return { value: values[index]!, low, high: reached, index, contenders };
}
