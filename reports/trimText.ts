import type { CheckPoint, TrimCheck } from "../lib/trim/checkTrim.ts";
import type { Residual } from "../lib/trim/residual.ts";
import type { Trim } from "../lib/trim/trim.ts";
import { counted, quantity, shownText, toPlace } from "./number.ts";
import { SIMULATED } from "./simulatedResult.ts";
import { terminalTable } from "./terminalTable.ts";
import { inked, paragraph, type TextOptions, type Tone } from "./terminalText.ts";

/** Whether the trim is worth having, in one sentence with figures. */
function trimHeadline(trim: Trim): string {
  const { residual, uncertainty, largestCorrection, worthwhile } = trim;
  const after = residual.table ?? residual.fixed;
  const by = residual.table === null ? "offset and gain" : "offset, gain and the table";
  const change = `Correcting ${by} brings the largest error over ${counted(after.codes)} codes from ${toPlace(residual.before.max, 2)} to ${toPlace(after.max, 2)} LSB (rms ${toPlace(residual.before.rms, 2)} to ${toPlace(after.rms, 2)})`;
  if (worthwhile === false)
    return `Not worth it: the correction, at most ${toPlace(largestCorrection, 2)} LSB, lies inside its own uncertainty of ±${toPlace(uncertainty?.worst ?? 0, 2)} LSB. Better constants need a better source or a longer capture.`;
  const known =
    uncertainty === null
      ? "; how well the constants are known is not stated"
      : `; the constants themselves are known to ±${toPlace(uncertainty.worst, 2)} LSB at worst`;
  return `${change}${known}.`;
}

/** A trim on the terminal: what it brings, what is left, the constants, the check, the cautions. */
export function trimText(
  trim: Trim,
  check: TrimCheck | null,
  simulated: boolean,
  options: TextOptions & { headerPath: string | null },
): string {
  const columns = Math.max(60, options.columns);
  const { residual, fixed, line, volts, source, uncertainty, scale } = trim;
  const rows: [string, Residual][] = [
    ["before", residual.before],
    ["corrected, real numbers", residual.unrounded],
    ["single precision, volts", residual.float],
    [`whole numbers, ${fixed.accumulator} bit`, residual.fixed],
    ...(residual.table === null ? [] : [["table, whole numbers", residual.table] as [string, Residual]]),
  ];
  const out = [
    ...paragraph(trimHeadline(trim), columns),
    ...(simulated ? [SIMULATED] : []),
    "",
    ...paragraph(
      `From capture ${source.capture.name}: offset ${shownText(source.offset, { signed: true })}, gain ${shownText(source.gain, { signed: true })}.`,
      columns,
    ),
    ...paragraph(truthText(trim), columns),
    "",
    ...terminalTable(
      [
        { head: "error over every code", align: "left" },
        { head: "max, LSB", align: "point" },
        { head: "rms, LSB", align: "point" },
        { head: "max", align: "right" },
        { head: "rms", align: "right" },
        { head: "worst at", align: "right" },
      ],
      rows.map(([name, r]) => [
        name,
        toPlace(r.max, 3),
        toPlace(r.rms, 3),
        quantity(r.maxVolts, "V", 3),
        quantity(r.rmsVolts, "V", 3),
        counted(r.worstCode),
      ]),
    ),
    ...(uncertainty === null
      ? []
      : paragraph(
          `Uncertainty of what remains: ±${toPlace(uncertainty.worst, 3)} LSB (${quantity(uncertainty.worst * scale.lsb, "V", 2)}) at code ${counted(uncertainty.atCode)}, ±${toPlace(uncertainty.atMiddle, 3)} LSB at mid-scale: offset and gain, added.`,
          columns,
        )),
    "",
    `floating point  volts = ${volts.perCode.toPrecision(9)} * code ${plus(volts.atCodeZero.toPrecision(9))}`,
    `                code' = ${line.slope.toPrecision(9)} * code ${plus(line.intercept.toPrecision(9))}`,
    `fixed point     code' = code - ${fixed.bias} + ((code * ${fixed.multiplier} ${plus(String(fixed.addend))}) >> ${fixed.shift})`,
    ...paragraph(
      `Signed ${fixed.accumulator}-bit accumulator; largest value in it ${counted(fixed.largest)}. Rounded to the nearest code, halves upwards; held inside 0 … ${counted(scale.topCode)}; codes ${counted(trim.outputs[0])} to ${counted(trim.outputs[1])} can come out.`,
      columns,
      "                ",
    ),
    "",
    ...(check === null ? [] : [...checkLines(check, columns, options.colour), ""]),
    ...trim.cautions.flatMap((c) => paragraph(`Caution: ${c}`, columns, "  ")),
  ];
  if (options.headerPath !== null) out.push(`Header: ${options.headerPath}`);
  return `${out.join("\n")}\n`;
}

/** A term of a formula with its sign before it. */
function plus(number: string): string {
  return number.startsWith("-") ? `- ${number.slice(1)}` : `+ ${number}`;
}

function truthText({ inputs, scale, residual }: Trim): string {
  const of = `${counted(inputs.measured)} of ${counted(scale.topCode + 1)} codes`;
  const step = inputs.stride > 1 ? ` Every ${inputs.stride}th code was run.` : "";
  if (inputs.from === "transitions")
    return `What each code means comes from the transitions measured${inputs.shape === null ? "" : ` in ${inputs.shape}`} (${of}); the others follow the line. ${counted(residual.before.codes)} codes occur.${step}`;
  if (inputs.from === "levels")
    return `What each code means comes from the applied levels, straight between them (${of}); the others follow the line.${step}`;
  return `What each code means comes from the line alone: the capture has no transitions or levels.${step}`;
}

/** Rows that a terminal shows of a long check: both ends, the worst, and some between; the JSON has all. */
const MOST_POINTS = 9;

function shownPoints(points: readonly CheckPoint[]): CheckPoint[] {
  const sorted = [...points].sort((a, b) => a.applied - b.applied);
  if (sorted.length <= MOST_POINTS) return sorted;
  const worst = sorted.reduce((a, b) => (Math.abs(b.after) > Math.abs(a.after) ? b : a));
  const even = Array.from(
    { length: MOST_POINTS - 1 },
    (_, i) => sorted[Math.round((i * (sorted.length - 1)) / (MOST_POINTS - 2))]!,
  );
  return sorted.filter((p) => p === worst || even.includes(p));
}

const CHECKED: Readonly<Record<TrimCheck["decision"], { word: string; tone: Tone }>> = {
  confirmed: { word: "CONFIRMED", tone: "good" },
  refuted: { word: "REFUTED", tone: "bad" },
  undecided: { word: "UNDECIDED", tone: "open" },
};

function checkLines(check: TrimCheck, columns: number, colour: boolean): string[] {
  const { word, tone } = CHECKED[check.decision];
  const points = shownPoints(check.points);
  const [first = "", ...rest] = paragraph(
    `by the second capture (${check.stimulus}, ${counted(check.readings)} readings): ${check.reason}.`,
    columns - word.length - 2,
  );
  return [
    `${inked(word, tone, colour)}  ${first}`,
    ...rest.map((l) => " ".repeat(word.length + 2) + l),
    ...terminalTable(
      [
        { head: "applied", align: "right" },
        { head: "before, LSB", align: "point" },
        { head: "after, LSB", align: "point" },
        { head: "± of the check", align: "point" },
        { head: "trim claims", align: "point" },
      ],
      points.map((p) => [
        quantity(p.applied, "V", 4),
        toPlace(p.before, 2, true),
        toPlace(p.after, 2, true),
        toPlace(p.uncertainty, 2),
        toPlace(p.claimed, 2),
      ]),
    ),
    ...(points.length < check.points.length
      ? [`${points.length} of ${check.points.length} points, the worst among them; --json has all.`]
      : []),
  ];
}
