import type { Detector } from "./context.ts";
import { say } from "./say.ts";

/** Reasons that belong to any log: they lose no reading. */
const HARMLESS =
  /^(comment|header|blank line|ruling|brackets|first line cut|last line cut|record without a reading|line of another channel)$/;
/** Boot lines of a terminal dump: this many may stand in any log. */
const USUAL_LINES = 20;
const USUAL_SHARE = 0.01;

/** Lines that gave no reading where one might have been. Counting, no statistics; what every log has is not mentioned. */
export const skippedLines: Detector = ({ record }) => {
  const { log } = record;
  const lost = log.skipped.filter((s) => !HARMLESS.test(s.reason));
  const count = lost.reduce((sum, s) => sum + s.count, 0);
  if (count === 0) return [];
  const many = count > Math.max(USUAL_LINES, USUAL_SHARE * log.lines);
  const example = lost[0]?.examples[0];
  return [
    {
      id: "lines-skipped",
      severity: many ? "warning" : "note",
      text: `${say.count(count)} of ${say.plural(log.lines, "line")} gave no reading (${lost.map((s) => `${say.count(s.count)} ${s.reason}`).join(", ")})${example ? `; the first is line ${say.count(example.line)}: "${example.text}"` : ""}.`,
      cause: many
        ? "Another task prints to the same port, the serial link drops characters, or the log's form was taken wrongly."
        : "Boot messages, prompts or remarks in the log.",
      advice: many
        ? "Look at the examples; give the log a port of its own, lower the baud rate, or force the form in the bench file."
        : "Nothing need be done if the examples are no readings.",
      readings: [],
      nulls: [],
    },
  ];
};
