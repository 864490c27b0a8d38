import type { Scale } from "../bench/scale.ts";
import type { ResultConverter } from "../result.ts";

/** The scale of a result's logged codes, as scaleOf gives it for the bench's converter. */
export function resultScale({ low, high, scale }: Pick<ResultConverter, "low" | "high" | "scale">): Scale {
  return { ...scale, low, fsr: high - low };
}
