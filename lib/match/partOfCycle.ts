import type { Ratio } from "../bench/units.ts";

/**
 * How much more distortion moves a sine that is fitted to a part of a cycle, where size, middle and frequency are hardly told apart. Worst cases of a bow, an S and a cubic over all
 * phases, by numerical fits at 0.6 to 1.1 cycles: the frequency moves by 1.4 (one cycle), 2.5 (0.8) and 8.4 (0.6) times as many turns as whole cycles would have it; amplitude and middle by 0.6, 1.8 and
 * 10 times the curve's height.
 */

/**
 * Turns by which distortion moves the phase of a stretch of few cycles between its ends: about its share of the amplitude, which the fit's standard uncertainty does not know.
 * @param left    rms of what the fit leaves over the amplitude
 * @param cycles  of the stretch
 */
export function turnedByDistortion(left: Ratio, cycles: number): number {
  return (0.003 + left / Math.max(1, cycles)) * Math.max(1, 1.5 * cycles ** -3.5);
}

/** By how many times its height a converter's curve moves amplitude and middle of the fitted sine, beyond what whole cycles let it; 0 from a cycle on. */
export function levelLeverage(cycles: number): number {
  return cycles < 1 ? 0.65 * cycles ** -5.3 : 0;
}
