import type { Detector } from "./context.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import { say } from "./say.ts";

/** Hum of the mains on the signal, from the lines that were found. */
export const mainsHum: Detector = ({ record, rate, hum }) => {
  if (hum === null || rate === null) return [];
  const told = hum.lines.map(({ order, amplitude }) => {
    const f = order * hum.mains;
    const shown = foldedFrequency(f / rate.value) * rate.value;
    return `${say.lsb(amplitude)} at ${say.hertz(f)}${Math.abs(shown - f) > 1e-6 * f ? ` (aliased to ${say.hertz(shown)})` : ""}`;
  });
  return [
    {
      id: "mains-hum",
      severity: "warning",
      text: `Lines of the ${hum.mains} Hz mains stand out of the noise: ${told.join(", ")} (amplitudes).`,
      cause:
        "Pickup from the mains: a ground loop, an unshielded lead or high-impedance input, or ripple of the supply.",
      advice:
        "Ground at one point, shield and shorten the lead, run from a battery for comparison, or average over whole mains cycles.",
      readings: [[0, record.codes.length - 1]],
      nulls: [],
    },
  ];
};
