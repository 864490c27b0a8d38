/** One reading in `stride`, from the first on; at most `most`. Not a copy where all are taken. */
export function oneIn(stride: number, codes: Int32Array, most = Number.POSITIVE_INFINITY): Int32Array {
  const length = Math.min(most, Math.ceil(codes.length / stride));
  if (stride === 1) return codes.subarray(0, length);
  const picked = new Int32Array(length);
  for (let i = 0; i < length; i++) picked[i] = codes[i * stride]!;
  return picked;
}
