import { kernels } from "../../lib/kernels/kernels.generated.js";
import type { RangeSpec } from "../figureSpec.ts";

/** Stretches of a curve over codes that were not tested (NaN), each as the codes it spans. Stretches that no plot could show apart are joined. */
export function untested(values: Float64Array, first: number, last: number): RangeSpec[] {
  const found: { from: number; to: number }[] = [];
  const ends = kernels.curveGaps(values);
  for (let i = 0; i < ends.length; i += 2) found.push({ from: first + ends[i]!, to: first + ends[i + 1]! });
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
