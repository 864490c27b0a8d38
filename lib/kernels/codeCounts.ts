/** Smallest and largest of codes. */
export class CodeExtent {
  lowest: i32 = i32.MAX_VALUE;
  highest: i32 = i32.MIN_VALUE;
}

export function codeExtent(codes: Int32Array): CodeExtent {
  let lowest = i32.MAX_VALUE;
  let highest = i32.MIN_VALUE;
  for (let n = 0; n < codes.length; n++) {
    const code = unchecked(codes[n]);
    lowest = min(lowest, code);
    highest = max(highest, code);
  }
  return { lowest, highest };
}

/** Adds to how often each code from `lowest` on came. */
export function addCodeCounts(codes: Int32Array, lowest: i32, intoCounts: Uint32Array): void {
  const counts = intoCounts.length;
  for (let n = 0; n < codes.length; n++) {
    const at = unchecked(codes[n]) - lowest;
    if (at < 0 || at >= counts) unreachable();
    unchecked(intoCounts[at]++);
  }
}

/** How many codes lie at 0 or below, or at the top or above. */
export function railedReadings(codes: Int32Array, top: f64): i32 {
  let railed = 0;
  for (let n = 0; n < codes.length; n++) {
    const code = unchecked(codes[n]);
    if (code <= 0 || code >= top) railed++;
  }
  return railed;
}
