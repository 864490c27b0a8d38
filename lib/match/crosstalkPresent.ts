import type { Detector } from "./context.ts";
import { neighbourTones } from "./neighbourTone.ts";
import { say } from "./say.ts";

/** A tone that shows on a channel beside its own. */
export const crosstalkPresent: Detector = ({ record, fit }) => {
  if (fit === null) return [];
  const seen = neighbourTones(record, fit).filter((t) => t.isSignificant);
  if (seen.length === 0) return [];
  const told = seen.map(
    (t) => `${(20 * Math.log10(t.ratio)).toFixed(1).replace("-", "−")} dB on ${t.channel} (${say.lsb(t.amplitude)})`,
  );
  return [
    {
      id: "crosstalk-present",
      severity: "warning",
      text: `The tone on ${record.channel} shows on its neighbours: ${told.join(", ")}.`,
      cause:
        "Coupling between traces or in the multiplexer, a sampling capacitor that is not recharged, or a shared ground lead.",
      advice: "Lower the neighbours' source resistance or lengthen the sampling time; keep traces apart.",
      readings: [[0, record.codes.length - 1]],
      nulls: [],
    },
  ];
};
