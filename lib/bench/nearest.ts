/**
 * The word of a list that a mistyped word most likely meant, or null when none is near.
 * Near: at most a third of its letters wrong, by edit distance with neighbouring letters swapped counting once; case is ignored.
 * Source: Damerau, "A technique for computer detection and correction of spelling errors", CACM 7(3), 1964 (optimal string alignment).
 * @example nearest("frequncy", ["frequency", "offset"]) // "frequency"
 */
export function nearest(word: string, words: readonly string[]): string | null {
  const typed = word.toLowerCase();
  let best: string | null = null;
  let least = Number.POSITIVE_INFINITY;
  for (const candidate of words) {
    const distance = editDistance(typed, candidate.toLowerCase());
    if (distance < least && distance <= Math.max(1, Math.floor(candidate.length / 3))) {
      best = candidate;
      least = distance;
    }
  }
  return best;
}

function editDistance(a: string, b: string): number {
  // Words this long are pasted text, not a mistyped key.
  if (a.length > 40) return Number.POSITIVE_INFINITY;
  const rows: number[][] = [Array.from({ length: b.length + 1 }, (_, j) => j)];
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1];
      let cost = Math.min(rows[i - 1]![j]! + 1, row[j - 1]! + 1, rows[i - 1]![j - 1]! + (same ? 0 : 1));
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        cost = Math.min(cost, rows[i - 2]![j - 2]! + 1);
      row.push(cost);
    }
    rows.push(row);
  }
  return rows[a.length]![b.length]!;
}
