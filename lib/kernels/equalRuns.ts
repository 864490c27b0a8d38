/**
 * Runs of at least `least` equal readings that end before the last reading: the first of each and the one after it; and at last the place from which on nothing is known yet. A run reaches
 * over the reading so far ahead: looked at backwards from there, most readings are skipped.
 */
export function equalRuns(codes: Int32Array, least: i32): Int32Array {
  const count = codes.length;
  const runs = new Int32Array(2 * (count / least) + 1);
  let found = 0;
  let first = 0;
  while (first + least <= count) {
    let n = first + least - 1;
    const code = codes[n];
    while (n > first && codes[n - 1] === code) n--;
    if (n > first) {
      first = n;
      continue;
    }
    let end = first + least;
    while (end < count && codes[end] === code) end++;
    if (end === count) break;
    runs[found++] = first;
    runs[found++] = end;
    first = end;
  }
  runs[found++] = first;
  return runs.slice(0, found);
}
