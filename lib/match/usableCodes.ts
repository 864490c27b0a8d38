import type { SineFit } from "../signal/sineFit.ts";
import { ALL_CODES, type UsableCodes } from "../signal/usableCodes.ts";
import type { ClippedEnd } from "./clipping.ts";
import type { Survey } from "./survey.ts";

/** The rails, where the record touches them; null where it does not. */
export function withoutRails(seen: Survey, topCode: number): UsableCodes | null {
  return seen.atBottom + seen.atTop > 0 ? { floor: 0, ceiling: topCode } : null;
}

/** The rails and the plateaus of a flattened sine. */
export function withoutEnds(usable: UsableCodes | null, ends: readonly ClippedEnd[], seen: Survey): UsableCodes | null {
  let floor = usable?.floor ?? Number.NEGATIVE_INFINITY;
  let ceiling = usable?.ceiling ?? Number.POSITIVE_INFINITY;
  for (const { side, isRail, width } of ends) {
    if (isRail) continue;
    if (side === "top") ceiling = Math.min(ceiling, seen.max - width + 1);
    else floor = Math.max(floor, seen.min + width - 1);
  }
  return floor > Number.NEGATIVE_INFINITY || ceiling < Number.POSITIVE_INFINITY ? { floor, ceiling } : null;
}

/** Usable codes for a fitted sine's own value: five standard deviations inside, so that noise cut off by a rail leaves no leaning. Without bounds where all codes are usable. */
export function awayFrom(usable: UsableCodes | null, fit: SineFit): UsableCodes {
  const clear = 5 * fit.residualRms;
  return usable === null ? ALL_CODES : { floor: usable.floor + clear, ceiling: usable.ceiling - clear };
}
