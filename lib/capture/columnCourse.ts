/** How a column of numbers runs, over the beginning of the log. */
export interface Course {
  readonly steady: boolean;
  /** Share of steps that are +1. */
  readonly byOne: number;
  /** Share of steps that are the most common step, counters that roll over at 2^8, 2^16 or 2^32 included; and that step. */
  readonly even: number;
  readonly rising: number;
  readonly distinct: number;
  /** Repeats a short pattern such as 0, 1, 2, 0, 1, 2. */
  readonly cycles: boolean;
}

/** How a column of numbers runs; remembered, since several questions ask for it. */
export function courseOf(numbers: readonly number[]): Course {
  const xs = numbers.filter((v) => !Number.isNaN(v));
  const known = courses.get(numbers);
  if (known !== undefined) return known;
  const steps = new Map<number, number>();
  let byOne = 0;
  let rising = 0;
  for (let i = 1; i < xs.length; i++) {
    const step = xs[i]! - xs[i - 1]!;
    if (step === 1 || step === 1 - 256 || step === 1 - 65536) byOne++;
    if (step > 0) rising++;
    steps.set(step, (steps.get(step) ?? 0) + 1);
  }
  const n = Math.max(xs.length - 1, 1);
  // A typical step, and how many steps lie close to it once rollovers are undone.
  const sorted = xs
    .slice(1)
    .map((x, i) => x - xs[i]!)
    .sort((a, b) => a - b);
  const median = sorted[sorted.length >> 1] ?? 0;
  const near = (step: number): boolean => Math.abs(step - median) <= Math.max(Math.abs(median) * 0.25, 1e-12);
  let even = 0;
  if (median > 0) {
    for (const step of sorted) if (near(step) || near(step + 256) || near(step + 65536) || near(step + 2 ** 32)) even++;
  }
  const distinct = new Set(xs).size;
  const course: Course = {
    steady: distinct <= 1,
    byOne: byOne / n,
    even: even / n,
    rising: rising / n,
    distinct,
    cycles: repeatsPattern(xs, distinct),
  };
  courses.set(numbers, course);
  return course;
}
const courses = new WeakMap<readonly number[], Course>();

function repeatsPattern(xs: readonly number[], distinct: number): boolean {
  if (distinct < 2 || distinct > 32 || xs.length < 2 * distinct) return false;
  if (!xs.every((x) => x >= 0 && x < 64)) return false;
  let wrong = 0;
  for (let i = distinct; i < xs.length; i++) if (xs[i] !== xs[i - distinct]) wrong++;
  // Each value once a round, so that a square wave or a slow signal is no tag.
  const round = new Set(xs.slice(0, distinct)).size;
  return round === distinct && wrong <= 0.05 * xs.length;
}
