import { explained, harmonic, overPhase, phaseCurve } from "./phaseCurve.ts";

/** Orders that are taken off; fewer where a short record has no readings to spare. */
const ORDERS = [10, 5, 3];
/** Readings a fitted coefficient must have. */
const READINGS_EACH = 12;
const COLUMNS = [overPhase(() => 1), ...Array.from({ length: ORDERS[0]! }, (_, i) => harmonic(i + 1)).flat()];
/** Folding into bins of phase leaves some thousandths of a line; a second round leaves thousandths of those. */
const ROUNDS = 2;

/**
 * Takes the harmonics of a tone (and what is left of the tone itself) off a remainder, in place: least squares over the tone's phase.
 * @param values  remainder of a sine fit, evenly spaced
 * @param tone    cycles a value
 * @returns the highest order taken off; 0 where they cannot be told apart
 */
export function takeHarmonicsOff(values: Float64Array, tone: number): number {
  // Of a part of a cycle all orders look alike, and huge ones that cancel each other would fit it best.
  if (tone * values.length < 1) return 0;
  const most = ORDERS.find((order) => (2 * order + 3) * READINGS_EACH <= values.length) ?? 0;
  for (const orders of ORDERS.filter((o) => o <= most)) {
    const columns = COLUMNS.slice(0, 2 * orders + 1);
    for (let round = 0; round < ROUNDS; round++) {
      const curve = phaseCurve(
        values,
        { cyclesPerReading: tone, phase: 0, amplitude: 0, offset: 0 },
        0,
        values.length - 1,
        { floor: Number.NEGATIVE_INFINITY, ceiling: Number.POSITIVE_INFINITY },
      );
      const found = explained(curve, columns);
      if (found === null) break;
      for (let order = 1; order <= orders; order++)
        takeLineOff(values, order * tone, found.x[2 * order - 1]!, found.x[2 * order]!);
      if (round === ROUNDS - 1) return orders;
    }
  }
  return 0;
}

/** a·cos + b·sin of a line, by a pointer that is set anew every 1024 values. */
function takeLineOff(values: Float64Array, frequency: number, a: number, b: number): void {
  const stepC = Math.cos(2 * Math.PI * frequency);
  const stepS = Math.sin(2 * Math.PI * frequency);
  let c = 1;
  let s = 0;
  for (let n = 0; n < values.length; n++) {
    if (n % 1024 === 0) {
      const turns = frequency * n;
      c = Math.cos(2 * Math.PI * (turns - Math.floor(turns)));
      s = Math.sin(2 * Math.PI * (turns - Math.floor(turns)));
    }
    values[n]! -= a * c + b * s;
    const next = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = next;
  }
}
