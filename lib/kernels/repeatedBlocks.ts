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
    found[count] = first + n;
    found[count + 1] = hash;
    found[count + 2] = spread >>> 8;
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
  const table = new Int32Array(2 * slots);
  const pairs = new Int32Array((2 * chosen.length) / 3);
  let count = 0;
  for (let k = 0; k < chosen.length; k += 3) {
    const n = chosen[k];
    const hash = chosen[k + 1];
    const slot = 2 * (chosen[k + 2] & (slots - 1));
    const before = table[slot] - 1;
    if (before >= 0 && table[slot + 1] === hash) {
      pairs[count] = n;
      pairs[count + 1] = before;
      count += 2;
    }
    table[slot] = n + 1;
    table[slot + 1] = hash;
  }
  return pairs.slice(0, count);
}
