import { type TwoLevels, twoLevels, withoutUpsets } from "./twoLevels.ts";
import { takeHarmonicsOff } from "./withoutHarmonics.ts";

const ROUNDS = 4;

/**
 * Two levels in what a sine leaves, its harmonics taken off. Over a few cycles harmonics follow the switching as well: without the levels found so far they are fitted again, a few times.
 * @param remainder  evenly spaced
 * @param tone       cycles a value
 * @returns the values without harmonics, and the levels in them
 */
export function levelsBesideTone(
  remainder: Float64Array,
  tone: number,
): { readonly values: Float64Array; readonly found: TwoLevels | null } {
  // One upset reading would leave a wave in each harmonic.
  const left = withoutUpsets(remainder);
  let values = left.slice();
  takeHarmonicsOff(values, tone);
  let found = twoLevels(values);
  for (let round = 0; round < ROUNDS && found !== null; round++) {
    const { at } = found;
    const flat = left.map((x, i) => x - at(i));
    takeHarmonicsOff(flat, tone);
    values = flat.map((x, i) => x + at(i));
    found = twoLevels(values);
  }
  return { values, found };
}
