/** Averages of `width` codes each. */
export function averages(codes: Int32Array, width: i32): Float64Array {
  return averagesOf<Int32Array>(codes, codes.length, width);
}

/** Averages of `width` values each. */
export function valueAverages(values: Float64Array, width: i32): Float64Array {
  return averagesOf<Float64Array>(values, values.length, width);
}

function averagesOf<T>(values: T, length: i32, width: i32): Float64Array {
  const means = new Float64Array(length / width);
  for (let i = 0, n = 0; i < means.length; i++) {
    let sum: f64 = 0;
    for (const end = n + width; n < end; n++) sum += values[n];
    means[i] = sum / width;
  }
  return means;
}
