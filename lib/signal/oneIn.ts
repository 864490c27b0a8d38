/** One value in `stride`, from the first on; at most `most`. Not a copy where all are taken. */
export function oneIn<T extends Int32Array | Float64Array>(
  stride: number,
  values: T,
  most = Number.POSITIVE_INFINITY,
): T {
  const length = Math.min(most, Math.ceil(values.length / stride));
  const picked = values.subarray(0, length) as T;
  if (stride === 1) return picked;
  const copy = picked.slice() as T;
  for (let i = 0; i < length; i++) copy[i] = values[i * stride]!;
  return copy;
}
