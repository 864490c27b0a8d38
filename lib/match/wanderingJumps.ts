import type { Finding } from "./finding.ts";
import type { LossEvent } from "./lossEvent.ts";
import { TONE_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";

/** Jumps back from which, and the chance below which, jumps are too small in both directions for losses. */
const LEAST_BACK = 2;
const TOO_SMALL = 1e-3;

/**
 * Jumps of phase that are those of a clock or source that wanders, and of no lost readings: a loss moves the phase ahead by its readings, and back only if it ends next to a whole
 * period; losses that make both would be of any size between, and small all together with a chance of (largest/π)^count.
 * @returns the finding in place of the losses; null where they are losses
 */
export function wanderingJumps(events: readonly LossEvent[], readings: number): Finding | null {
  const jumps = events.flatMap((e) => e.jump ?? []);
  const back = jumps.filter((step) => step < 0).length;
  const largest = Math.max(0, ...jumps.map(Math.abs));
  if (events.length > jumps.length || back < LEAST_BACK || back === jumps.length) return null;
  if (!((largest / Math.PI) ** jumps.length < TOO_SMALL)) return null;
  return {
    id: "uneven-sampling",
    severity: "error",
    text: `The phase of the fitted sine moves ahead in ${say.plural(jumps.length - back, "place")} and back in ${say.count(back)}, never by more than ${say.degrees(largest)}: lost readings would move it ahead only, or by any amount, so that readings are not evenly spaced in time.`,
    cause: "Conversions are started by the program's loop, or the sample clock or the source wanders.",
    advice:
      "Log time stamps, start conversions from a timer, and use a crystal for clock and source; no tone figure is stated, since all this would count as noise.",
    readings: [[0, readings - 1]],
    nulls: TONE_METRICS,
  };
}
