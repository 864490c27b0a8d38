const FACTOR = 0x01000193;

/**
 * Windows that are chosen by the rolling hash of their codes (Rabin and Karp), but for flat ones.
 * @param window   readings
 * @param changes  of code in a window, at least
 * @param thin     bits of the mixed hash that must be 0
 * @param first    place of the first of the codes in the record
 * @returns of each the place of its last reading, the hash, and the mixed hash without its last eight bits
 */
export function chosenWindows(codes: Int32Array, window: i32, changes: i32, thin: i32, first: i32): Int32Array {
  const found = new Int32Array(3 * codes.length);
  // The weight of the reading that leaves the window.
  let weight = 1;
  for (let i = 0; i < window; i++) weight *= FACTOR;
  if (window < 1) unreachable();
  let hash = 0;
  let changed = 0;
  let count = 0;
  let before = codes.length > 0 ? codes[0] : 0;
  // The reading that leaves the window next.
  let oldest = before;
  for (let n = 0; n < codes.length; n++) {
    const code = unchecked(codes[n]);
    hash = hash * FACTOR + code + 1;
    if (code !== before) changed++;
    before = code;
    if (n >= window) {
      hash -= weight * (oldest + 1);
      const next = unchecked(codes[n - window + 1]);
      if (next !== oldest) changed--;
      oldest = next;
    }
    if (n < window - 1 || changed < changes) continue;
    const mixed = (hash ^ (hash >>> 15)) * 0x2c1b3c6d;
    const spread = mixed ^ (mixed >>> 13);
    if ((spread & thin) !== 0) continue;
    // Three a reading, at most.
    unchecked((found[count] = first + n));
    unchecked((found[count + 1] = hash));
    unchecked((found[count + 2] = spread >>> 8));
    count += 3;
  }
  return found.slice(0, count);
}

/**
 * Windows whose codes came before, as far as their hashes tell and no other window has taken their slot since.
 * @param chosen  of the record, by chosenWindows
 * @param slots   a power of two
 * @returns places of the last readings of a window and of the one before it, pair by pair
 */
export function windowsAgain(chosen: Int32Array, slots: i32): Int32Array {
  // Of each slot, the place of the last window with this hash (counted from 1) and the hash itself, side by side: one place in memory to look at.
  if (slots < 1 || (slots & (slots - 1)) !== 0 || chosen.length % 3 !== 0) unreachable();
  const table = new Int32Array(2 * slots);
  const pairs = new Int32Array((2 * chosen.length) / 3);
  let count = 0;
  for (let k = 0; k < chosen.length; k += 3) {
    const n = unchecked(chosen[k]);
    const hash = unchecked(chosen[k + 1]);
    const slot = 2 * (unchecked(chosen[k + 2]) & (slots - 1));
    const before = unchecked(table[slot]) - 1;
    if (before >= 0 && unchecked(table[slot + 1]) === hash) {
      pairs[count] = n;
      pairs[count + 1] = before;
      count += 2;
    }
    unchecked((table[slot] = n + 1));
    unchecked((table[slot + 1] = hash));
  }
  return pairs.slice(0, count);
}
