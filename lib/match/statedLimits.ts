import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Volts } from "../bench/units.ts";

/** Half-width that the source's, front end's and reference's limits give an amplitude and an offset at the pin. */
export function statedLimits(
  stimulus: PinStimulus,
  amplitude: Volts,
  offset: Volts,
): { readonly amplitude: Volts; readonly offset: Volts } {
  let a = 0;
  let o = 0;
  for (const limit of stimulus.limits) {
    if (limit.kind === "shift") o += limit.halfWidth;
    else {
      a += limit.halfWidth * Math.abs(amplitude);
      o += limit.halfWidth * Math.abs(offset - limit.pivot);
    }
  }
  return { amplitude: a, offset: o };
}
