/**
 * What changes in the code at transition T[k], where that is worth saying: between k − 1 and k the bits below the lowest set bit of k all fall as it rises, and a converter
 * that weighs bits shows its largest steps where the top ones change.
 * @example codePlace(2048, 12) // "where the top bit changes"
 */
export function codePlace(k: number, bits: number): string | null {
  if (!Number.isInteger(bits) || bits < 3 || k < 1) return null;
  let zeros = 0;
  while (zeros < bits && (k / 2 ** zeros) % 2 === 0) zeros++;
  const names = ["the top bit changes", "the second bit from the top changes", "the third bit from the top changes"];
  const place = names[bits - 1 - zeros];
  return place === undefined ? null : `where ${place}`;
}
