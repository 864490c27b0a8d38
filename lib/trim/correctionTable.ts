import { codeOfVoltage, type Scale } from "../bench/scale.ts";
import type { CodeInputs } from "./codeInputs.ts";
import type { AccumulatorBits } from "./fixedPoint.ts";

/**
 * A correction by a short table: entries at codes 0, step, 2·step …, straight lines between, everything in whole numbers.
 *   i = code >> stepShift, r = code & (step − 1)
 *   corrected = code − bias + ((entry[i]·step + (entry[i+1] − entry[i])·r + addend) >> (stepShift + fraction)), held inside 0…topCode.
 */
export interface CorrectionTable {
  /** In 2^−fraction LSB, each inside 16 bits. */
  readonly entries: readonly number[];
  readonly stepShift: number;
  readonly fraction: number;
  readonly addend: number;
  readonly bias: number;
  readonly topCode: number;
  readonly accumulator: AccumulatorBits;
}

const ENTRY_MOST = 2 ** 15 - 1;

/** Numbers of points a table over these codes may have: one more than a power of two, so that a shift finds the entry. */
export function tablePoints(topCode: number): number[] {
  const codeBits = Math.ceil(Math.log2(topCode + 1));
  return Array.from({ length: Math.min(codeBits, 12) }, (_, i) => 2 ** (i + 1) + 1);
}

/**
 * Fits a correction table to what each code really means, by least squares over every code, so that single wide or narrow codes
 * average out. Codes that the capture did not test follow its straight line.
 * @param points  one of tablePoints(scale.topCode)
 * @returns null when the entries or a product do not fit
 * @throws RangeError  points is not one of tablePoints
 */
export function correctionTable(
  scale: Scale,
  inputs: CodeInputs,
  points: number,
  accumulator: AccumulatorBits,
): CorrectionTable | null {
  const { topCode } = scale;
  if (!tablePoints(topCode).includes(points))
    throw new RangeError(`correctionTable: points must be one of ${tablePoints(topCode).join(", ")}; got ${points}`);
  const codeBits = Math.ceil(Math.log2(topCode + 1));
  const stepShift = codeBits - Math.log2(points - 1);
  const nodes = fitNodes(scale, inputs, points, 2 ** stepShift);
  const most = Math.min(2 ** (accumulator - 1) - 1, Number.MAX_SAFE_INTEGER);
  if (topCode > most) return null;
  const largestNode = Math.max(...nodes.map(Math.abs));
  for (let fraction = 12; fraction >= 0; fraction--) {
    if (Math.round(largestNode * 2 ** fraction) > ENTRY_MOST) continue;
    const table = quantise(nodes, stepShift, fraction, topCode, accumulator);
    if (largestIntermediate(table) <= most) return table;
  }
  return null;
}

function quantise(
  nodes: readonly number[],
  stepShift: number,
  fraction: number,
  topCode: number,
  accumulator: AccumulatorBits,
): CorrectionTable {
  const entries = nodes.map((n) => Math.round(n * 2 ** fraction) + 0);
  const shift = stepShift + fraction;
  const half = shift === 0 ? 0 : 2 ** (shift - 1);
  const smallest = Math.min(...entries) * 2 ** stepShift + half;
  const bias = Math.max(0, Math.ceil(-smallest / 2 ** shift));
  return { entries, stepShift, fraction, addend: half + bias * 2 ** shift, bias, topCode, accumulator };
}

/** Each term and each partial sum, over all places of the table. */
function largestIntermediate({ entries, stepShift, fraction, addend, topCode, bias }: CorrectionTable): number {
  const step = 2 ** stepShift;
  // The corrected code before it is held may run past the top by the largest entry.
  const beyond = Math.floor((Math.max(...entries) * step + addend) / 2 ** (stepShift + fraction)) - bias;
  let largest = Math.max(bias, topCode + Math.max(0, beyond));
  for (let i = 0; i + 1 < entries.length; i++) {
    const here = entries[i]! * step;
    const rise = (entries[i + 1]! - entries[i]!) * step;
    for (const value of [here, rise, here + rise, here + addend, here + rise + addend])
      largest = Math.max(largest, Math.abs(value));
  }
  return largest;
}

/** A code through the table, step by step as the firmware does it. */
export function applyTable(table: CorrectionTable, code: number): number {
  const { entries, stepShift, fraction, addend, bias, topCode } = table;
  const held = Math.min(code, topCode);
  const step = 2 ** stepShift;
  const i = Math.floor(held / step);
  const r = held - i * step;
  const sum = entries[i]! * step + (entries[i + 1]! - entries[i]!) * r + addend;
  return Math.max(0, Math.min(topCode, held - bias + Math.floor(sum / 2 ** (stepShift + fraction))));
}

/** Least-squares nodes of a straight-line interpolation: the normal equations are tridiagonal. */
function fitNodes(scale: Scale, inputs: CodeInputs, points: number, step: number): number[] {
  const diagonal = new Float64Array(points);
  const beside = new Float64Array(points);
  const right = new Float64Array(points);
  for (let j = 0; j < inputs.volts.length; j++) {
    if (!inputs.occurs(j)) continue;
    const code = j * inputs.stride;
    const wanted = codeOfVoltage(scale, inputs.volts[j]!) - code;
    const i = Math.min(points - 2, Math.floor(code / step));
    const t = code / step - i;
    diagonal[i]! += (1 - t) * (1 - t);
    diagonal[i + 1]! += t * t;
    beside[i]! += t * (1 - t);
    right[i]! += (1 - t) * wanted;
    right[i + 1]! += t * wanted;
  }
  // Forward elimination, then back substitution (Thomas). A node that no code touches has a zero row and stays 0.
  for (let i = 1; i < points; i++) {
    if (diagonal[i - 1]! === 0) continue;
    const factor = beside[i - 1]! / diagonal[i - 1]!;
    diagonal[i]! -= factor * beside[i - 1]!;
    right[i]! -= factor * right[i - 1]!;
  }
  const nodes = new Array<number>(points).fill(0);
  for (let i = points - 1; i >= 0; i--) {
    const next = i + 1 < points ? beside[i]! * nodes[i + 1]! : 0;
    nodes[i] = diagonal[i]! > 1e-12 ? (right[i]! - next) / diagonal[i]! : 0;
  }
  return nodes;
}
