/**
 * Where a frequency appears after sampling.
 * @param cycles  cycles per reading, ≥ 0, any size
 * @returns cycles per reading, 0…½
 * Source: r = f mod fs; alias = min(r, fs − r), common practice (CHECKS A3).
 * @example foldedFrequency(0.7) // 0.3
 */
export function foldedFrequency(cycles: number): number {
  const rest = cycles - Math.floor(cycles);
  return Math.min(rest, 1 - rest);
}
