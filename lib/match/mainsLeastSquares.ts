import { median } from "../signal/median.ts";
import { FALSE_ALARM } from "./context.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import type { MainsLine } from "./mainsSpectrum.ts";

/** Harmonics of the tone that are fitted along; a short record has fewer readings to spare. */
const harmonicsFor = (readings: number): number => (readings < 100 ? 3 : readings < 250 ? 5 : 8);
/** Orders of the mains that a short record is asked for. */
const ORDERS = [1, 2, 3];
/** Share of a line that must be left once offset, slope, tone and harmonics are taken off it: else it cannot be told from them. */
const LEAST_LEFT = 0.3;
/** Exponentially distributed powers exceed eight times their median once in 250. */
const APART_FROM_NEIGHBOURS = 8;
/** Mains frequencies are tried this share of a cell of resolution apart. */
const STEP_CELLS = 0.25;

/**
 * Lines of the mains in a short record beside a tone: least squares of offset, slope, the tone with its harmonics and the line together, which needs no window and no
 * neighbourhood. The share q of the remainder's squares that one line explains has chance (1 − q)^(ν/2) with normal noise; it must stay below FALSE_ALARM over all lines tried.
 * @param tone     cycles a reading
 * @param mains    cycles a reading of the mains, and how far it may be off (share)
 * @param least    amplitude below which a line may be the quantiser's own, codes
 */
export function mainsBesideTone(
  values: Float64Array,
  tone: number,
  mains: { readonly frequency: number; readonly tolerance: number },
  least: number,
): MainsLine[] {
  const n = values.length;
  const basis: Float64Array[] = [];
  const take = (column: Float64Array): void => {
    const before = dot(column, column);
    const left = orthogonal(column, basis);
    if (left > 0.01 * before) basis.push(column.map((x) => x / Math.sqrt(left)));
  };
  take(new Float64Array(n).fill(1));
  take(Float64Array.from({ length: n }, (_, i) => i / n - 0.5));
  for (let h = 1; h <= harmonicsFor(n); h++) for (const column of waves(h * tone, n)) take(column);
  const remainder = values.slice();
  orthogonal(remainder, basis);

  const frequencies = ORDERS.map((order) =>
    tried(order * mains.frequency, order * mains.frequency * mains.tolerance, n),
  );
  const trials = 2 * frequencies.reduce((sum, list) => sum + list.length, 0);
  const found: MainsLine[] = [];
  for (;;) {
    let best: {
      order: number;
      squares: number;
      amplitude: number;
      columns: readonly Float64Array[];
      frequency: number;
    } | null = null;
    for (const order of ORDERS) {
      if (found.some((l) => l.order === order)) continue;
      for (const frequency of frequencies[order - 1]!) {
        const line = project(remainder, basis, frequency);
        if (line !== null && (best === null || line.squares > best.squares)) best = { order, ...line, frequency };
      }
    }
    if (best === null) return found;
    const freedom = n - basis.length - 2;
    const share = Math.min(1 - 1e-12, best.squares / dot(remainder, remainder));
    if (freedom < 8 || (freedom / 2) * Math.log1p(-share) > Math.log(FALSE_ALARM / trials)) return found;
    if (best.squares < APART_FROM_NEIGHBOURS * neighbours(remainder, basis, best.frequency)) return found;
    for (const column of best.columns) take(column);
    orthogonal(remainder, basis);
    if (!(best.amplitude > least)) return found;
    found.push({ order: best.order, amplitude: best.amplitude, cycles: foldedFrequency(best.frequency) });
  }
}

/** Places in the spectrum that a line may have, cells apart. */
function tried(frequency: number, reach: number, n: number): number[] {
  const steps = Math.ceil((reach * n) / STEP_CELLS);
  return Array.from({ length: 2 * steps + 1 }, (_, i) => frequency + (steps === 0 ? 0 : ((i - steps) / steps) * reach));
}

/** Median of what lines some cells to both sides explain: noise that is not white has as much there. */
function neighbours(remainder: Float64Array, basis: readonly Float64Array[], frequency: number): number {
  const around = [-3.5, -2.5, -1.5, 1.5, 2.5, 3.5].flatMap((cells) => {
    const at = foldedFrequency(frequency) + cells / remainder.length;
    return at > 0 && at < 0.5 ? (project(remainder, basis, at)?.squares ?? []) : [];
  });
  return around.length < 2 ? 0 : median(around);
}

/** What one line explains beyond the basis, and its amplitude; null where the basis holds most of it already. */
function project(
  remainder: Float64Array,
  basis: readonly Float64Array[],
  frequency: number,
): { squares: number; amplitude: number; columns: readonly [Float64Array, Float64Array] } | null {
  const columns = waves(foldedFrequency(frequency), remainder.length);
  const [c, s] = columns;
  const whole = remainder.length / 2;
  if (orthogonal(c, basis) < LEAST_LEFT * whole || orthogonal(s, basis) < LEAST_LEFT * whole) return null;
  const [cc, ss, cs] = [dot(c, c), dot(s, s), dot(c, s)];
  const determinant = cc * ss - cs * cs;
  if (determinant < (LEAST_LEFT * whole) ** 2) return null;
  const [rc, rs] = [dot(c, remainder), dot(s, remainder)];
  const a = (rc * ss - rs * cs) / determinant;
  const b = (rs * cc - rc * cs) / determinant;
  return { squares: a * rc + b * rs, amplitude: Math.hypot(a, b), columns };
}

function waves(frequency: number, n: number): readonly [Float64Array, Float64Array] {
  const c = new Float64Array(n);
  const s = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    c[i] = Math.cos(2 * Math.PI * frequency * i);
    s[i] = Math.sin(2 * Math.PI * frequency * i);
  }
  return [c, s];
}

/** Takes the basis off a column, in place; twice, for rounding. @returns what is left of its squares */
function orthogonal(column: Float64Array, basis: readonly Float64Array[]): number {
  for (let round = 0; round < 2; round++)
    for (const b of basis) {
      const along = dot(b, column);
      for (let i = 0; i < column.length; i++) column[i]! -= along * b[i]!;
    }
  return dot(column, column);
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
