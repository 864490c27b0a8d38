import { kernels } from "../kernels/kernels.generated.js";

/** Orders that are taken off; fewer where a short record has no readings to spare. */
const ORDERS = [10, 5, 3];
/** Readings a fitted coefficient must have. */
const READINGS_EACH = 12;
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
    const found = kernels.withoutHarmonics(values, tone, orders, ROUNDS);
    values.set(found.values);
    if (found.rounds === ROUNDS) return orders;
  }
  return 0;
}
