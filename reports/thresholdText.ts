import type { MeasuredThreshold, ThresholdReport } from "../lib/plan/thresholdReport.ts";
import { counted, placeOf, plain, quantity, toPlace } from "./number.ts";
import { wrapped } from "./planText.ts";

const LABEL = 18;

/** What a voltage is as a code, or a code as a voltage, as one aligned text. */
export function renderThresholdText(report: ThresholdReport, columns = 80): string {
  const width = Math.max(48, Math.min(columns, 100));
  const lines: string[] = [`${report.title}: ${askedText(report)}`, ""];
  const row = (label: string, text: string): void => {
    lines.push(...wrapped(text, width, `  ${label.padEnd(LABEL)}`));
  };
  const volts = voltsText(report.lsb);
  if (report.hasFrontEnd)
    row("at the pin", report.asked.kind === "volts" ? volts(report.volts ?? 0) : "all voltages below are at the pin");
  if (report.isOutside) row("", "outside the converter's range: it gives its lowest or highest code");
  const { from, to } = report.window;
  row(
    "code",
    `${report.code} by the converter's own line${report.logged === null ? "" : `, logged as ${report.logged}`}`,
  );
  row(
    "given by",
    from === null
      ? `anything below ${volts(to ?? 0)}`
      : to === null
        ? `anything from ${volts(from)} up`
        : `${volts(from)} to ${volts(to)}, ${quantity(report.lsb, "V", 4)} wide; stands for ${volts(report.middle)}`,
  );
  if (report.atSource !== null && report.asked.kind === "code") row("at the source", volts(report.atSource));
  const { powerOfTwo, oneLess, asked } = report;
  const start = report.low === 0 ? "" : `${quantity(report.low, "V", 7)} + `;
  const range = quantity(report.range, "V", 7);
  for (const [{ divisor, code, volts: value }, rounding] of [
    [powerOfTwo, "rounded down"],
    [oneLess, "rounded to nearest"],
  ] as const)
    row(
      `divisor ${divisor}`,
      `${asked.kind === "volts" ? `code ${code}, ${rounding}; ` : ""}${start}${code} × ${range} / ${divisor} = ${volts(value)}`,
    );
  if (powerOfTwo.code !== oneLess.code || powerOfTwo.volts !== oneLess.volts)
    row("", "the two differ; use the one that the firmware computes with, and say which");
  for (const measured of report.measured) measuredRows(measured, report, row);
  for (const { capture, above, share } of report.shares)
    row("time above", `${plain(100 * share, 4)} % of the sine of ${capture} lies above ${volts(above)}`);
  return `${lines.map((line) => line.trimEnd()).join("\n")}\n`;
}

function askedText({ asked, hasFrontEnd }: ThresholdReport): string {
  if (asked.kind === "code") return `code ${counted(asked.value)}`;
  return `${plain(asked.value, 9)} V${hasFrontEnd ? " at the source" : ""}`;
}

/** Volts to a hundredth of an LSB. */
function voltsText(lsb: number): (volts: number) => string {
  const place = placeOf(lsb / 10);
  return (volts) => `${toPlace(volts, place)}\u00a0V`;
}

function measuredRows(
  { capture, code, trips, tripsNext }: MeasuredThreshold,
  report: ThresholdReport,
  row: (label: string, text: string) => void,
): void {
  const say = (point: NonNullable<MeasuredThreshold["tripsNext"]>, test: string): string => {
    if ("reason" in point) return point.reason;
    const place = placeOf(point.uncertainty);
    return `"${test}" trips at ${toPlace(point.volts, place)} ± ${toPlace(point.uncertainty, place)}\u00a0V, ${plain(point.shift / report.lsb, 2)}\u00a0LSB from the ideal`;
  };
  const gives = code === null ? "" : `this converter gives code ${code}; `;
  row("measured", `${capture}: ${gives}${say(trips, `code >= ${report.code}`)}`);
  if (tripsNext !== null && !("reason" in tripsNext)) row("", say(tripsNext, `code > ${report.code}`));
}
