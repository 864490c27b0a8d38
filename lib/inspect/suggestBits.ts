import type { CodeCounts } from "./countCodes.ts";
import type { SuggestedBits } from "./inspection.ts";

const USUAL = [8, 10, 12, 14, 16, 18, 20, 24, 32] as const;
/** Changes between neighbours are counted over so many readings. */
const NEIGHBOURS = 1 << 20;

/**
 * The number of bits that the codes suggest, and what each bit does.
 * @param codes   the logged words
 * @param counts  of the same words
 */
export function suggestBits(codes: Int32Array, counts: CodeCounts): SuggestedBits {
  const { min, max, ones } = counts;
  const signed = min < 0;
  const largest = signed ? Math.max(-min - 1, max) : max;
  const magnitude = Math.max(1, Math.ceil(Math.log2(largest + 1)));
  const needed = signed ? magnitude + 1 : magnitude;
  let unusedLowBits = 0;
  if (max !== min) while (unusedLowBits < needed - 1 && ones[unusedLowBits] === 0) unusedLowBits++;
  const usual = USUAL.find((b) => b >= needed) ?? 32;
  const changes = new Float64Array(32);
  const last = Math.min(codes.length, NEIGHBOURS);
  for (let i = 1; i < last; i++) {
    for (let word = (codes[i]! ^ codes[i - 1]!) >>> 0, bit = 0; word !== 0; word >>>= 1, bit++)
      if (word & 1) changes[bit]!++;
  }
  return {
    bits: usual,
    needed,
    signed,
    unusedLowBits,
    activity: Array.from({ length: usual }, (_, bit) => ({
      bit,
      ones: ones[bit]!,
      changes: last > 1 ? changes[bit]! / (last - 1) : 0,
    })),
  };
}
