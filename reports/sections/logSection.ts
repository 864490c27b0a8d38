import { isQuiet } from "../../lib/match/quietLevel.ts";
import type { CaptureScore, SessionScore } from "../../lib/session.ts";
import { renderFigureRow } from "../figure.ts";
import { recordFigure } from "../figures/recordFigure.ts";
import { findingList } from "../findingList.ts";
import { type Html, html } from "../html.ts";
import { counted, shownText, unbroken } from "../number.ts";
import { renderTable } from "../table.ts";

/** Is the log sound? What was read, what was left out and why, and the record itself. */
export function logSection(session: SessionScore): Html {
  const { captures } = session;
  const found = findingList(captures, "log");
  return html`<p>${summary(captures)}</p>
${found}
${captures.length > 0 && logTable(captures)}
${skippedLines(captures)}
${remarks(captures)}
${quietLevels(captures)}
${renderFigureRow(captures.map(recordFigure))}`;
}

function summary(captures: readonly CaptureScore[]): string {
  if (captures.length === 0) return "No capture could be read.";
  const skipped = captures.reduce((sum, c) => sum + c.record.log.skipped.reduce((s, k) => s + k.count, 0), 0);
  const damaged = captures.filter((c) => c.record.clean.length > 1).map((c) => c.spec.name);
  const lines =
    skipped === 0
      ? "Every line of every log gave a reading."
      : `${counted(skipped, "line")} gave no reading; they are counted below by reason.`;
  return `${lines}${damaged.length > 0 ? ` Readings were lost or damaged in ${damaged.join(", ")}; only sound stretches are measured.` : ""} Codes are used as they were logged; none was repaired.`;
}

function rateText({ record }: CaptureScore): string {
  const { sampleRate } = record;
  if (sampleRate === null) return "unknown";
  const { value, uncertainty } = sampleRate;
  return shownText({
    value,
    uncertainty,
    low: uncertainty === null ? null : value - uncertainty,
    high: uncertainty === null ? null : value + uncertainty,
    unit: "Hz",
  });
}

const BASIS = {
  stated: "stated in the bench file",
  timestamps: "from the time stamps",
  timing: "from the converter's timing",
  stimulus: "from the stimulus frequency",
} as const;

function logTable(captures: readonly CaptureScore[]): Html {
  return renderTable({
    caption: "The logs as they were read",
    columns: [
      { head: "capture" },
      { head: "readings", align: "number" },
      { head: "lines", align: "number" },
      { head: "without a reading", align: "number" },
      { head: "sampling rate", align: "number" },
      { head: "rate known" },
      { head: "how the log was read" },
    ],
    rows: captures.map((c) => {
      const { log, sampleRate } = c.record;
      return [
        c.spec.name,
        counted(c.record.codes.length),
        counted(log.lines),
        counted(log.skipped.reduce((sum, s) => sum + s.count, 0)),
        rateText(c),
        sampleRate === null ? "not at all" : BASIS[sampleRate.basis],
        html`<small class="says">${unbroken(log.dialect.sentence)}</small>`,
      ];
    }),
  });
}

function skippedLines(captures: readonly CaptureScore[]): Html | null {
  const rows = captures.flatMap(({ spec, record }) =>
    record.log.skipped.map((s) => [
      spec.name,
      s.reason,
      counted(s.count),
      html`${s.examples.map((e) => html`<div><small>line ${counted(e.line)}:</small> <code>${e.text}</code></div>`)}`,
    ]),
  );
  if (rows.length === 0) return null;
  return html`<details class="for-print"><summary>Lines that gave no reading</summary>${renderTable({
    caption: "Lines without a reading, by reason",
    columns: [
      { head: "capture" },
      { head: "reason" },
      { head: "lines", align: "number" },
      { head: "the first of them" },
    ],
    rows,
  })}</details>`;
}

/** What the reader and the matching remarked; a remark that several captures share is said once. */
function remarks(captures: readonly CaptureScore[]): Html {
  const said = new Map<string, string[]>();
  for (const { spec, record } of captures)
    for (const r of [...record.log.remarks, ...(record.sampleRate?.remarks ?? [])])
      said.set(r, [...(said.get(r) ?? []), spec.name]);
  return html`${[...said].map(
    ([r, names]) =>
      html`<p><strong>${names.join(", ")}:</strong> ${unbroken(r.charAt(0).toUpperCase() + r.slice(1))}${/[.!?]$/.test(r) ? "" : "."}</p>`,
  )}`;
}

/** What the codes of a quiet level cannot show, where nothing else in the log could. */
function quietLevels(captures: readonly CaptureScore[]): Html | null {
  const names = captures
    .filter(({ record, curves }) => {
      const counted = curves.steady?.counts.map((c) => c.count);
      return record.log.time === null && record.log.sequence === null && counted !== undefined && isQuiet(counted);
    })
    .map((c) => c.spec.name);
  if (names.length === 0) return null;
  return html`<p><strong>${names.join(", ")}:</strong> A steady input this quiet cannot show lost or repeated readings, nor low bits that stand still; time stamps or running numbers, and a slow ramp, would.</p>`;
}
