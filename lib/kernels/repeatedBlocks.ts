const FACTOR = 0x01000193;

/**
 * Windows that are chosen by the rolling hash of their codes (Rabin and Karp), but for flat ones.
 * @param window   readings
 * @param changes  of code in a window, at least
 * @param thin     bits of the mixed hash that must be 0
 * @returns of each the place of its last reading, the hash, and the mixed hash without its last eight bits
 */
export function chosenWindows(codes: Int32Array, window: i32, changes: i32, thin: i32): Int32Array {
  const found = new Int32Array(3 * codes.length);
  // The weight of the reading that leaves the window.
  let weight = 1;
  for (let i = 0; i < window; i++) weight *= FACTOR;
  let hash = 0;
  let changed = 0;
  let count = 0;
  for (let n = 0; n < codes.length; n++) {
    hash = hash * FACTOR + codes[n] + 1;
    if (n > 0 && codes[n] !== codes[n - 1]) changed++;
    if (n >= window) {
      hash -= weight * (codes[n - window] + 1);
      if (codes[n - window + 1] !== codes[n - window]) changed--;
    }
    if (n < window - 1 || changed < changes) continue;
    const mixed = (hash ^ (hash >>> 15)) * 0x2c1b3c6d;
    const spread = mixed ^ (mixed >>> 13);
    if ((spread & thin) !== 0) continue;
    found[count] = n;
    found[count + 1] = hash;
    found[count + 2] = spread >>> 8;
    count += 3;
  }
  return found.slice(0, count);
}
