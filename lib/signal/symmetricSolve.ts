import { kernels } from "../kernels/kernels.generated.js";

/**
 * Solves H·x = g for a small symmetric positive definite H by Cholesky, after scaling its diagonal to one.
 * @param H  n×n, row by row
 * @param g  n values
 * @returns x and the inverse of H; null when H is singular to working precision (columns that cannot be told apart)
 * Source: Golub and Van Loan, "Matrix Computations", 1996, 4.2 (from memory).
 */
export function symmetricSolve(
  H: Float64Array,
  g: Float64Array,
): { readonly x: Float64Array; readonly inverse: Float64Array } | null {
  return kernels.symmetricSolve(H, g);
}
