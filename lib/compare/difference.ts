import { halfWidth, LEVEL, Z95 } from "../judge/coverage.ts";
import type { ResultFigure } from "../result.ts";

/** How a figure differs between two captures: second minus first, with the joint interval. */
export interface Difference {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** Half the interval's width; null where an end is open. */
  readonly uncertainty: number | null;
}

/** Which of two figures' limits come from one and the same instrument or part, so that their errors are equal and not independent. */
export interface Shared {
  /** The same source, left as it was, supplied both captures. */
  readonly source: boolean;
  /** The same board: front end and reference. */
  readonly board: boolean;
}

export const INDEPENDENT: Shared = { source: false, board: false };

/**
 * Limits that act as one fixed error through a capture and come back with the same sign in the next: those of pinStimulus. A source's linearity,
 * repeatability and impurity do not: they may fall elsewhere the next time.
 */
const FIXED_BY_SOURCE = new Set(["source amplitude", "source offset", "source gain"]);
const FIXED_BY_BOARD = new Set(["front-end gain", "reference"]);

/** Whether a limit's effect is the same in both captures. */
export function isShared(from: string, shared: Shared): boolean {
  return (shared.source && FIXED_BY_SOURCE.has(from)) || (shared.board && FIXED_BY_BOARD.has(from));
}

type LimitPart = { readonly from: string; readonly halfWidth: number };

/** The ± limits of source, front end and reference in a figure's budget. */
export function limitsOf(figure: ResultFigure): LimitPart[] {
  return (figure.budget?.parts ?? []).filter((p) => p.kind === "limit" && p.halfWidth > 0);
}

/** A budget's record parts are taken at their word where they explain an interval's side to this share of it. */
const EXPLAINS = 0.005;

/**
 * The record's own standard uncertainty behind one side of an interval: what, convolved with the limits, gives that side's width.
 * The inverse of judge/expand. Beside limits that dominate, the width hardly depends on it; then the budget's own statement is better, where it fits.
 * @param side      width of the side, ≥ 0
 * @param limits    ± limits, in the same unit
 * @param stated    the record's standard uncertainty by the budget, or null
 * @returns 0 where the limits alone are as wide
 */
export function recordStandard(side: number, limits: readonly number[], stated: number | null = null): number {
  if (limits.length === 0) return Math.max(0, side) / Z95;
  if (stated !== null && Math.abs(halfWidth(stated, limits) - side) <= EXPLAINS * side) return stated;
  if (!(side > halfWidth(0, limits))) return 0;
  let low = 0;
  let high = side / Z95;
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (halfWidth(middle, limits) < side) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** The record's standard uncertainty as the budget states it; null where it states no parts at all. */
export function statedStandard({ budget }: ResultFigure): number | null {
  if (budget === undefined || budget.parts.length === 0) return null;
  return Math.hypot(...budget.parts.filter((p) => p.kind === "record").map((p) => p.halfWidth)) / Z95;
}

/**
 * The difference of a figure between two captures, second minus first. The records' own parts are independent; so are the limits, except those
 * that both captures share: of these only the difference is left (or the sum, where they act in opposite directions).
 * Each side is combined from the sides that can move it: the lower end from the second's lower and the first's upper side.
 * Two bounds without values give a bound on the difference, their ends subtracted, which is on the safe side.
 * @param options.shared    see Shared
 * @param options.opposite  a shared error moves the two figures in opposite directions (magnitudes of values of opposite sign)
 * @param options.level     coverage of the joint interval, 0.95 unless told otherwise
 * Source: JCGM 100:2008, 5.1 and 5.2 (independent and correlated contributions); JCGM 101:2008 (propagation of distributions).
 * @example difference(figure 10.00 ± 0.03, figure 10.10 ± 0.04).uncertainty // 0.05
 */
export function difference(
  first: ResultFigure,
  second: ResultFigure,
  options: { shared?: Shared; opposite?: boolean; level?: number } = {},
): Difference {
  const { shared = INDEPENDENT, opposite = false, level = LEVEL } = options;
  if (first.value === null || second.value === null) {
    const low = second.low === null || first.high === null ? null : second.low - first.high;
    const high = second.high === null || first.low === null ? null : second.high - first.low;
    return { value: null, low, high, uncertainty: null };
  }
  const value = second.value - first.value;
  const joint = combinedLimits(limitsOf(first), limitsOf(second), shared, opposite);
  const below = jointSide(sideOf(second, "low"), sideOf(first, "high"), [second, first], joint, level);
  const above = jointSide(sideOf(second, "high"), sideOf(first, "low"), [second, first], joint, level);
  return {
    value,
    low: below === null ? null : value - below,
    high: above === null ? null : value + above,
    uncertainty: below === null || above === null ? null : (below + above) / 2,
  };
}

function sideOf(figure: ResultFigure, end: "low" | "high"): number | null {
  const at = figure[end];
  return at === null || figure.value === null ? null : Math.abs(figure.value - at);
}

function jointSide(
  a: number | null,
  b: number | null,
  figures: readonly [ResultFigure, ResultFigure],
  joint: readonly number[],
  level: number,
): number | null {
  if (a === null || b === null) return null;
  const standards = [a, b].map((side, i) =>
    recordStandard(
      side,
      limitsOf(figures[i]!).map((l) => l.halfWidth),
      statedStandard(figures[i]!),
    ),
  );
  return halfWidth(Math.hypot(...standards), joint, level);
}

function combinedLimits(
  first: readonly LimitPart[],
  second: readonly LimitPart[],
  shared: Shared,
  opposite: boolean,
): number[] {
  const joint: number[] = [];
  const sharedIn = (parts: readonly LimitPart[]): Map<string, number> => {
    const map = new Map<string, number>();
    for (const { from, halfWidth: a } of parts) {
      if (isShared(from, shared)) map.set(from, (map.get(from) ?? 0) + a);
      else joint.push(a);
    }
    return map;
  };
  const one = sharedIn(first);
  const other = sharedIn(second);
  for (const from of new Set([...one.keys(), ...other.keys()])) {
    const a = one.get(from) ?? 0;
    const b = other.get(from) ?? 0;
    const left = opposite ? a + b : Math.abs(a - b);
    // What is left of equal limits after rounding is nothing.
    if (left > 1e-9 * Math.max(a, b)) joint.push(left);
  }
  return joint;
}
