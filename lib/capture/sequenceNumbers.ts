import type { SequenceNumbers } from "./log.ts";

/** Gaps kept at most; a log with more is damaged throughout, and its count says so. */
const MOST_GAPS = 100_000;

/**
 * What the sequence numbers show: readings missing between two lines, the counter's rollover undone (8, 16, 32 bits), restarts counted.
 * @param numbers  one a reading, NaN where there was none; left as logged
 */
export function sequenceNumbers(
  numbers: Float64Array,
  name: string,
): { sequence: SequenceNumbers; restarts: number; repeated: number } {
  const step = usualStep(numbers);
  let largest = 0;
  for (let i = 0; i < numbers.length; i++) if (numbers[i]! > largest) largest = numbers[i]!;
  const modulus = [256, 65536, 2 ** 32].find((m) => largest === m - step || largest === m - 1) ?? 0;
  const gaps: { at: number; missing: number }[] = [];
  let restarts = 0;
  let repeated = 0;
  let previous = Number.NaN;
  for (let at = 0; at < numbers.length; at++) {
    const here = numbers[at]!;
    if (Number.isNaN(here)) continue;
    let by = here - previous;
    previous = here;
    if (by === step || Number.isNaN(by)) continue;
    if (by < 0 && modulus > 0) by += modulus;
    const missing = by / step - 1;
    if (by === 0) repeated++;
    else if (by < 0) restarts++;
    else if (missing > 0 && gaps.length < MOST_GAPS) gaps.push({ at, missing: Math.round(missing) });
  }
  return { sequence: { name, numbers, gaps }, restarts, repeated };
}

/** The most common step between neighbours among the first thousands. */
function usualStep(numbers: Float64Array): number {
  const tally = new Map<number, number>();
  for (let i = 1; i < Math.min(numbers.length, 4096); i++) {
    const step = numbers[i]! - numbers[i - 1]!;
    if (step > 0) tally.set(step, (tally.get(step) ?? 0) + 1);
  }
  let best = 1;
  let most = 0;
  for (const [step, n] of tally) {
    if (n > most) {
      most = n;
      best = step;
    }
  }
  return best;
}
