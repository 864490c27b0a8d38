import type { Detector, MatchContext } from "./context.ts";
import type { Finding } from "./finding.ts";
import { LINE_METRICS, SHAPE_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";
import { smallRatio } from "./smallRatio.ts";

/** Whether the record holds whole cycles, and whether its readings fall on enough different phases. */
export const coherence: Detector = (context) => [...fewPhases(context), ...notCoherent(context)];

/** A note only: every measure here copes with a fraction of a cycle. */
function notCoherent({ record, fit, clean }: MatchContext): Finding[] {
  const { spec, codes } = record;
  if (fit === null || (spec.use !== null && !spec.use.includes("tone")) || clean.length !== 1) return [];
  const cycles = fit.cyclesPerReading * codes.length;
  const away = cycles - Math.round(cycles);
  const known = 3 * fit.standard.cyclesPerReading * codes.length;
  if (Math.abs(away) <= Math.max(0.02, known) || known > 0.4) return [];
  const whole = Math.max(1, Math.round(cycles));
  return [
    {
      id: "not-coherent",
      severity: "note",
      text: `The record holds ${+cycles.toFixed(2)} cycles of the tone, not a whole number.`,
      cause: "The generator's frequency was not chosen for the record, or is not locked to the sample clock.",
      advice: `Nothing need be done; a coherent record would need ${say.number(whole)} cycles in ${say.count(codes.length)} readings (codestair plan says at which frequency).`,
      readings: [[0, codes.length - 1]],
      nulls: [],
    },
  ];
}

/**
 * A tone whose readings come back to the same few phases: with p/q cycles a reading there are only q of them, and what lies between is never
 * tried. It matters where neighbouring phases lie further apart than the noise would bridge (three standard deviations) and than 1.5 LSB.
 * No statistics: the frequency is known far better than the spacing of phases it is compared with.
 */
function fewPhases({ record, fit }: MatchContext): Finding[] {
  const { codes, spec, stimulus } = record;
  if (fit === null || stimulus?.kind !== "sine" || codes.length < 32) return [];
  const found = smallRatio(fit.cyclesPerReading, codes.length, 3 * fit.standard.cyclesPerReading);
  if (found === null) return [];
  const [p, q] = found;
  const gap = (2 * Math.PI * fit.amplitude) / q;
  // What the fit leaves is noise and quantisation; of few phases the quantisation is no noise.
  const noise = Math.sqrt(Math.max(0, fit.residualRms ** 2 - 1 / 12));
  if (gap <= 1.5 || gap <= 3 * noise) return [];
  // A record too short for a histogram loses nothing that it could have shown.
  const histogram = (spec.use === null || spec.use.includes("histogram")) && codes.length >= record.scale.topCode / 4;
  return [
    {
      id: "few-phases",
      severity: histogram ? "warning" : "note",
      text: `The tone makes ${say.plural(p, "cycle")} in exactly ${q} readings, so that only ${q} different phases are sampled: up to ${say.lsb(gap)} lie between neighbouring ones, whatever the record's length.`,
      cause: "The sample rate is a simple multiple of the tone's frequency.",
      advice:
        "Move the frequency a little, so that the record holds a whole number of cycles that shares no factor with its readings (codestair plan).",
      readings: [[0, codes.length - 1]],
      nulls: histogram ? [...SHAPE_METRICS, ...LINE_METRICS] : [],
    },
  ];
}
