export class Solution {
  x: Float64Array = new Float64Array(0);
  inverse: Float64Array = new Float64Array(0);
}

/** Cholesky's decomposition of the matrix with its diagonal scaled to one; null when singular to working precision. */
export function symmetricSolve(H: Float64Array, g: Float64Array): Solution | null {
  const n = g.length;
  if (H.length < n * n) unreachable();
  const scale = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const d = H[i * n + i];
    if (!(d > 0 && d < Infinity)) return null;
    scale[i] = 1 / sqrt<f64>(d);
  }
  const L = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = H[i * n + j] * scale[i] * scale[j];
      for (let k = 0; k < j; k++) sum -= unchecked(L[i * n + k]) * unchecked(L[j * n + k]);
      if (i === j) {
        // A scaled pivot is the share of a column that the others do not explain.
        if (!(sum > 1e-13)) return null;
        L[i * n + i] = sqrt<f64>(sum);
      } else L[i * n + j] = sum / L[j * n + j];
    }
  }
  const inverse = new Float64Array(n * n);
  const column = new Float64Array(n);
  for (let c = 0; c < n; c++) {
    for (let i = 0; i < n; i++) {
      let sum: f64 = i === c ? 1 : 0;
      for (let k = 0; k < i; k++) sum -= unchecked(L[i * n + k]) * unchecked(column[k]);
      column[i] = sum / L[i * n + i];
    }
    for (let i = n - 1; i >= 0; i--) {
      let sum = column[i];
      for (let k = i + 1; k < n; k++) sum -= unchecked(L[k * n + i]) * unchecked(column[k]);
      column[i] = sum / L[i * n + i];
    }
    for (let i = 0; i < n; i++) inverse[i * n + c] = column[i] * scale[i] * scale[c];
  }
  const x = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let sum: f64 = 0;
    for (let k = 0; k < n; k++) sum += unchecked(inverse[i * n + k]) * unchecked(g[k]);
    x[i] = sum;
  }
  const solution = new Solution();
  solution.x = x;
  solution.inverse = inverse;
  return solution;
}
