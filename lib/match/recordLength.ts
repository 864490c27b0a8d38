import type { Detector } from "./context.ts";
import { say } from "./say.ts";

/** Mean readings a code that a histogram should have before its single codes mean anything. */
const READINGS_PER_CODE = 4;

/**
 * A record that is short for what it is to show. Counting, no statistics. A short record is legitimate, so this is a note: each metric says for itself
 * what it cannot give.
 */
export const recordLength: Detector = ({ record, fit }) => {
  const { codes, stimulus, spec, scale } = record;
  const readings = codes.length;
  const kind = stimulus?.kind;
  const all = [[0, Math.max(0, readings - 1)]] as const;
  const note = (text: string, advice: string) =>
    [
      {
        id: "too-few-readings",
        severity: "note",
        text,
        cause: "The record is short.",
        advice,
        readings: all,
        nulls: [],
      },
    ] as const;
  if (kind === "sine" && fit !== null && fit.cyclesPerReading * readings < 1)
    return note(
      `The ${say.count(readings)} readings hold ${say.number(fit.cyclesPerReading * readings)} of a cycle of the tone.`,
      "Capture at least five cycles.",
    );
  if (readings < 20) return note(`The record has ${say.plural(readings, "reading")}.`, "Capture at least sixty.");
  const histogram =
    kind === "ramp" ||
    kind === "triangle" ||
    (kind === "sine" && (spec.use === null || spec.use.includes("histogram")));
  const wanted = READINGS_PER_CODE * (scale.topCode + 1) * (kind === "sine" ? Math.PI / 2 : 1);
  if (histogram && readings < wanted)
    return note(
      `${say.count(readings)} readings are ${say.number((READINGS_PER_CODE * readings) / wanted)} a code in the middle of the range, where ${READINGS_PER_CODE} are the least for single codes.`,
      `Capture ${say.count(wanted)} readings or more for DNL and INL; the tone's figures do not need them.`,
    );
  return [];
};
