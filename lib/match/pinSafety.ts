import type { Volts } from "../bench/units.ts";
import type { Detector } from "./context.ts";
import { say } from "./say.ts";

/**
 * A source that drives the pin beyond what it survives: injected current through the protection diodes. By the stated stimulus, else by the sine fitted
 * without the rails, which must pass the limit by 2 % of the range so that the converter's own gain and offset do not count.
 * Where the bench gives no `pin`, the range ± 0.3 V is taken: common practice; the part's data sheet decides.
 */
export const pinSafety: Detector = ({ record, fit }) => {
  const { stimulus, spec, scale, codes, appliedVolts } = record;
  if (stimulus === null) return [];
  const { pin } = spec.converter;
  const reach = extremes(record.stimulus, appliedVolts);
  let seen: readonly [Volts, Volts] | null = null;
  if (stimulus.kind === "sine" && fit !== null) {
    const volts = (code: number): Volts => scale.low + (code + scale.firstTransition - 0.5) * scale.lsb;
    const margin = 0.02 * scale.fsr + 5 * fit.standard.amplitude * scale.lsb;
    const low = volts(fit.offset - fit.amplitude);
    const high = volts(fit.offset + fit.amplitude);
    if (low < pin.low - margin || high > pin.high + margin) seen = [low, high];
  }
  // A setting that lies on the limit is within it; a rounding error of the sum is not beyond it.
  const stated = reach !== null && (reach[0] < pin.low - 1e-9 || reach[1] > pin.high + 1e-9);
  if (!stated && seen === null) return [];
  const [low, high] = stated ? reach : seen!;
  return [
    {
      id: "pin-overdriven",
      severity: "warning",
      text: `The ${stimulus.kind} ${stated ? "as stated" : "as fitted to the readings"} takes the pin to ${say.volts(low)} … ${say.volts(high)}, beyond ${say.volts(pin.low)} … ${say.volts(pin.high)}${pin.stated ? "" : " (range ± 0.3 V: common practice, the data sheet decides)"}.`,
      cause:
        "Current flows through the pin's protection diodes, shifts neighbouring channels and may destroy the part.",
      advice:
        "Lower the amplitude or move the offset; put a resistor in series that limits the current to what the data sheet allows.",
      readings: [[0, Math.max(0, codes.length - 1)]],
      nulls: [],
    },
  ];
};

function extremes(
  stimulus: Parameters<Detector>[0]["record"]["stimulus"],
  applied: Float64Array | null,
): readonly [Volts, Volts] | null {
  switch (stimulus?.kind) {
    case "sine":
      if (stimulus.amplitude === null || stimulus.offset === null) return null;
      return [stimulus.offset - stimulus.amplitude, stimulus.offset + stimulus.amplitude];
    case "ramp":
      return [Math.min(stimulus.from, stimulus.to), Math.max(stimulus.from, stimulus.to)];
    case "triangle":
      return [stimulus.low, stimulus.high];
    case "steady":
      return stimulus.voltage === null ? null : [stimulus.voltage, stimulus.voltage];
    case "steps": {
      const volts = applied ?? stimulus.levels?.map((l) => l.voltage) ?? [];
      let low = Number.POSITIVE_INFINITY;
      let high = Number.NEGATIVE_INFINITY;
      for (const v of volts)
        if (Number.isFinite(v)) {
          low = Math.min(low, v);
          high = Math.max(high, v);
        }
      return low <= high ? [low, high] : null;
    }
    default:
      return null;
  }
}
