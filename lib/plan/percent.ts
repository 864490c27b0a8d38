import type { Ratio } from "../bench/units.ts";

/**
 * A confidence in per cent with as many digits as tell it from 100 %.
 * @example percent(0.95) // "95 %"
 * @example percent(1 - 0.05 / 4096) // "99.9988 %"
 */
export function percent(share: Ratio): string {
  if (share >= 1) return "100 %";
  const missing = Math.max(1e-12, 100 * (1 - share));
  const places = Math.max(0, 2 - Math.ceil(Math.log10(missing)));
  return `${Number((100 - missing).toFixed(places))} %`;
}
