/** Median of the finite values; NaN of none. Puts the values in another order. */
export function median(values: Float64Array): f64 {
  let count = 0;
  for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i])) values[count++] = values[i];
  return count === 0 ? NaN : medianOf(values, count);
}

/** Median of the first `count` values, one or more. Puts them in another order. */
export function medianOf(values: Float64Array, count: i32): f64 {
  const middle = count >> 1;
  const upper = select(values, count, middle);
  if (count & 1) return upper;
  let lower = values[0];
  for (let i = 1; i < middle; i++) lower = max<f64>(lower, values[i]);
  return (lower + upper) / 2;
}

/** Median distance of the values from `about`; NaN where none is finite. */
export function medianDistance(values: Float64Array, about: f64): f64 {
  for (let i = 0; i < values.length; i++) values[i] = abs<f64>(values[i] - about);
  return median(values);
}

/** The size that a share of the values stays below; those that are not finite count as large, and it is NaN where they are reached. */
export function quantileOfSizes(values: Float64Array, share: f64): f64 {
  const k = <i32>(share * values.length);
  let count = 0;
  for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i])) values[count++] = abs<f64>(values[i]);
  return k < count ? select(values, count, k) : NaN;
}

/** The k-th smallest (from 0) of the first `count` values; puts no larger ones before it, and no smaller ones behind. Source: Hoare, "Algorithm 65: Find", CACM 4, 1961. */
export function select(values: Float64Array, count: i32, k: i32): f64 {
  let from = 0;
  let to = count - 1;
  while (from < to) {
    const pivot = middleOf(values[from], values[(from + to) >> 1], values[to]);
    let i = from;
    let j = to;
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i > j) break;
      const value = values[i];
      values[i++] = values[j];
      values[j--] = value;
    }
    if (k <= j) to = j;
    else if (k >= i) from = i;
    else break;
  }
  return values[k];
}

function middleOf(a: f64, b: f64, c: f64): f64 {
  return max<f64>(min<f64>(a, b), min<f64>(max<f64>(a, b), c));
}

/** Median of five. */
export function median5(a: f64, b: f64, c: f64, d: f64, e: f64): f64 {
  // Of five, drop the smallest and largest of the first four, then take the middle of what is left with the fifth.
  const low = max<f64>(min<f64>(a, b), min<f64>(c, d));
  const high = min<f64>(max<f64>(a, b), max<f64>(c, d));
  return max<f64>(min<f64>(low, high), min<f64>(max<f64>(low, high), e));
}
