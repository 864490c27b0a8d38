/** Codes further apart than this are counted by sorting, not in a table. */
const WIDEST_TABLE = 1 << 22;
const MOST_SORTED = 20_000_000;

export interface CodeCounts {
  readonly min: number;
  readonly max: number;
  readonly mean: number;
  readonly sd: number;
  readonly distinct: number | null;
  /** For each bit of the 32-bit word, the share of readings in which it is set. */
  readonly ones: readonly number[];
}

/**
 * Extremes, mean, spread, different codes and set bits of a channel, in one count where the codes' range allows.
 * @param codes  at least one
 */
export function countCodes(codes: Int32Array): CodeCounts {
  let min = codes[0]!;
  let max = min;
  for (let i = 0; i < codes.length; i++) {
    const c = codes[i]!;
    if (c < min) min = c;
    else if (c > max) max = c;
  }
  const span = max - min + 1;
  if (span <= WIDEST_TABLE && span <= Math.max(1 << 16, 4 * codes.length)) {
    const table = new Uint32Array(span);
    for (let i = 0; i < codes.length; i++) table[codes[i]! - min]!++;
    return fromPairs(codes.length, min, max, function* () {
      for (let k = 0; k < span; k++) if (table[k]! > 0) yield [min + k, table[k]!];
    });
  }
  if (codes.length <= MOST_SORTED) {
    const sorted = codes.slice().sort();
    return fromPairs(codes.length, min, max, function* () {
      let start = 0;
      for (let i = 1; i <= sorted.length; i++) {
        if (i < sorted.length && sorted[i] === sorted[start]) continue;
        yield [sorted[start]!, i - start];
        start = i;
      }
    });
  }
  const counts = fromPairs(codes.length, min, max, function* () {
    for (let i = 0; i < codes.length; i++) yield [codes[i]!, 1];
  });
  return { ...counts, distinct: null };
}

function fromPairs(total: number, min: number, max: number, pairs: () => Iterable<[number, number]>): CodeCounts {
  let distinct = 0;
  let sum = 0;
  const ones = new Float64Array(32);
  // About the lowest code, so that the squares keep their digits.
  for (const [code, count] of pairs()) {
    distinct++;
    sum += (code - min) * count;
    for (let word = code >>> 0, bit = 0; word !== 0; word >>>= 1, bit++) if (word & 1) ones[bit]! += count;
  }
  const mean = sum / total;
  let squares = 0;
  for (const [code, count] of pairs()) squares += (code - min - mean) ** 2 * count;
  return {
    min,
    max,
    mean: min + mean,
    sd: total > 1 ? Math.sqrt(squares / (total - 1)) : 0,
    distinct,
    ones: Array.from(ones, (n) => n / total),
  };
}
