import type { Detector } from "./context.ts";
import { say } from "./say.ts";

/** Share of the transitions that must be passed before the endpoint line, and with it gain and INL, may be claimed (DESIGN §4). */
const LEAST_SHARE = 0.95;

/** Readings below which a ramp or triangle takes steps of a per cent of the range and more. */
const SHORT = 256;

/**
 * A histogram record that leaves part of the range out. Exact: the codes either come or do not. For a tone that is left to serve both uses
 * it is only a note, because a tone is rightly a little smaller than the range.
 */
export const rangeExercised: Detector = ({ record, seen }) => {
  const { stimulus, spec, scale, codes } = record;
  const kind = stimulus?.kind;
  if (kind !== "sine" && kind !== "ramp" && kind !== "triangle") return [];
  if (spec.use !== null && !spec.use.includes("histogram")) return [];
  if (seen.below + seen.above > 0 || codes.length === 0) return [];
  const top = scale.topCode;
  const passed = Math.max(0, Math.min(seen.max, top) - Math.max(0, seen.min));
  const share = passed / top;
  if (share >= LEAST_SHARE) return [];
  // A short record may step over the ends of its stimulus; it is too short for a histogram anyway, which has its own note.
  const asked = (kind !== "sine" || spec.use !== null) && codes.length >= SHORT;
  return [
    {
      id: "range-not-exercised",
      severity: asked ? "warning" : "note",
      text: `Codes ${say.count(seen.min)} to ${say.count(seen.max)} came: ${say.ratio(share)} of the transitions from 1 to ${say.count(top)} were passed, where gain, offset and the endpoint line need ${say.ratio(LEAST_SHARE)}.`,
      cause: `The ${kind} is smaller than the converter's range.`,
      advice:
        kind === "sine"
          ? "For a histogram let the sine pass both ends of the range by a few LSB, as far as the pin allows."
          : "Let it start below the bottom of the range and end above the top, as far as the pin allows.",
      readings: [[0, codes.length - 1]],
      nulls: [],
    },
  ];
};
