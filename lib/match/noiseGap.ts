import type { CaptureRecord } from "../capture/record.ts";
import { FALSE_ALARM } from "./context.ts";
import { stepLevels } from "./stepLevels.ts";

/** Noise does not pass over more than this; a low byte in the high one's place would look alike. */
const HIGHEST = 4;
/** Times that each value above a bit must come where three of them come in a row. */
const VISITS = 3;
/**
 * Readings on either side of a single gap. Noise whose density has one peak falls between two stretches of codes at least as often as into the rarer one of them, so that a gap
 * as wide as they are stays empty by chance with e^−n.
 */
const BESIDE_A_GAP = Math.ceil(-Math.log(FALSE_ALARM));
/** Correlation of which side readings fall on, over some readings: noise has little, a level that switches, hums or drifts has much. */
const WHITE = 0.5;
const LAGS = 16;
/** Values above a bit that are counted. */
const MOST_VALUES = 4096;

/** Codes that never come although readings pass over them. */
export interface NoiseGap {
  /** Codes on either side. */
  readonly below: number;
  readonly above: number;
  /** Readings up to the one, and from the other on. */
  readonly readings: readonly [number, number];
}

/**
 * Whether noise alone takes the readings of a level past both values of a bit that is the same in every code: three values above it in a row (two gaps of the bit's width
 * between codes that come), or, for a bit that leaves out more than one code, two that readings change between as noise does, back and forth at once. One code
 * that is left out once may be a missing code, so that a staircase must show three such gaps, and a steady record only says so (see singleGap).
 */
export function isStuckInNoise(record: CaptureRecord, bit: number): boolean {
  if (bit > HIGHEST) return false;
  const levels = noisyLevels(record);
  if (levels.length === 0) return false;
  const isSteady = record.stimulus?.kind === "steady";
  const rows = levels.map(([first, last]) => longestRow(record.codes, first, last, bit));
  if (isSteady ? rows[0]! >= 3 : rows.filter((row) => row >= 2).length >= 3) return true;
  return bit > 0 && levels.some(([first, last]) => gapIn(record.codes, first, last, bit) !== null);
}

/** A single code that noise passes over in a steady record, with the lowest bit the same in all readings; null where there is none. */
export function singleGap(record: CaptureRecord): NoiseGap | null {
  return record.stimulus?.kind === "steady" ? gapIn(record.codes, 0, record.codes.length - 1, 0) : null;
}

function noisyLevels(record: CaptureRecord): readonly (readonly [number, number])[] {
  if (record.stimulus?.kind === "steady") return [[0, record.codes.length - 1]];
  return stepLevels(record).map(({ first, last }) => [first, last]);
}

/** Two values above a bit between which readings change as noise does. */
function gapIn(codes: Int32Array, first: number, last: number, bit: number): NoiseGap | null {
  const counts = valuesAbove(codes, first, last, bit);
  let best: { value: number; fewer: number } | null = null;
  for (const [value, count] of counts) {
    const fewer = Math.min(count, counts.get(value + 1) ?? 0);
    if (fewer >= BESIDE_A_GAP && (best === null || fewer > best.fewer)) best = { value, fewer };
  }
  if (best === null) return null;
  const edge = (best.value + 1) << (bit + 1);
  if (!isWhite(codes, first, last, edge)) return null;
  let [below, above, under] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY, 0];
  for (let n = first; n <= last; n++) {
    const code = codes[n]!;
    if (code < edge) {
      below = Math.max(below, code);
      under++;
    } else above = Math.min(above, code);
  }
  return { below, above, readings: [under, last - first + 1 - under] };
}

/** Whether the side of a code on which readings fall is as good as forgotten from reading to reading. */
function isWhite(codes: Int32Array, first: number, last: number, edge: number): boolean {
  const readings = last - first + 1;
  let over = 0;
  for (let n = first; n <= last; n++) if (codes[n]! >= edge) over++;
  const share = over / readings;
  const spread = share * (1 - share);
  for (let lag = 1; lag <= LAGS && lag < readings / 2; lag++) {
    let both = 0;
    for (let n = first + lag; n <= last; n++) if (codes[n]! >= edge && codes[n - lag]! >= edge) both++;
    if (Math.abs(both / (readings - lag) - share * share) > WHITE * spread) return false;
  }
  return true;
}

/** How many values above a bit came in a row, each more than once or twice. */
function longestRow(codes: Int32Array, first: number, last: number, bit: number): number {
  const counts = valuesAbove(codes, first, last, bit);
  let longest = 0;
  let run = 0;
  let before = Number.NaN;
  for (const [above, count] of [...counts].sort((a, b) => a[0] - b[0])) {
    if (count < VISITS) continue;
    run = above === before + 1 ? run + 1 : 1;
    before = above;
    longest = Math.max(longest, run);
  }
  return longest;
}

/** How often each value above a bit came; none where they are too many for a level. */
function valuesAbove(codes: Int32Array, first: number, last: number, bit: number): Map<number, number> {
  const counts = new Map<number, number>();
  for (let n = first; n <= last; n++) {
    const above = codes[n]! >> (bit + 1);
    counts.set(above, (counts.get(above) ?? 0) + 1);
    if (counts.size > MOST_VALUES) return new Map();
  }
  return counts;
}
