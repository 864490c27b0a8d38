import type { RangeSpec } from "../figureSpec.ts";

/** Stretches of a curve over codes that were not tested (NaN), each as the codes it spans. Stretches that no plot could show apart are joined. */
export function untested(values: ArrayLike<number>, first: number, last: number): RangeSpec[] {
  const found: { from: number; to: number }[] = [];
  let start = -1;
  for (let i = 0; i <= values.length; i++) {
    const gap = i < values.length && !Number.isFinite(values[i]);
    if (gap && start < 0) start = i;
    if (!gap && start >= 0) {
      found.push({ from: first + start, to: first + i - 1 });
      start = -1;
    }
  }
  if (first > 1) found.unshift({ from: 1, to: first - 1 });
  const end = first + values.length - 1;
  if (end < last) found.push({ from: end + 1, to: last });
  const joined: { from: number; to: number }[] = [];
  const near = (last + 1) / 1000;
  for (const r of found) {
    const before = joined.at(-1);
    if (before && r.from - before.to <= near) before.to = r.to;
    else joined.push({ ...r });
  }
  return joined.map((r) => ({ ...r, label: "not tested" }));
}
