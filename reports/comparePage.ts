import type { Column } from "../lib/compare/columns.ts";
import type { ComparedColumn, ComparedMetric, Comparison } from "../lib/compare/comparison.ts";
import { CHANGES, isKnown, notesOf } from "./compareText.ts";
import { renderFigureRow } from "./figure.ts";
import { type Html, html } from "./html.ts";
import { inOneUnit } from "./inUnit.ts";
import { isSigned, metricLabel } from "./metricLabel.ts";
import { plain, quantity, shownText } from "./number.ts";
import { MOST_OVERLAID, overlaidCaptures, overlayFigures } from "./overlayFigures.ts";
import { renderShell, type SectionSpec } from "./shell.ts";
import { renderTable } from "./table.ts";

export interface ResultPageOptions {
  readonly version: string;
  readonly written: string | null;
  readonly simulated: boolean;
  /** The outcome as JSON, carried by the page. */
  readonly json: string;
}

/** The page of a comparison: which setting, what changed, the curves over each other, how it was compared. */
export function renderComparePage(comparison: Comparison, options: ResultPageOptions): string {
  const { reference, others } = comparison;
  const columns = [reference, ...others.map((o) => o.column)];
  const figures = overlayFigures(overlaidCaptures(columns));
  const sections: SectionSpec[] = [
    {
      id: "answer",
      heading: "Which one, and is it worth it?",
      body: html`<p><strong>${comparison.answer}</strong></p>
${columnTable(columns)}`,
    },
    { id: "changed", heading: "What changed?", body: html`${others.map((o) => changeTable(reference, o))}` },
  ];
  if (figures.length > 0)
    sections.push({
      id: "curves",
      heading: "Where does it show?",
      body: html`${columns.length > MOST_OVERLAID && html`<p>The first ${MOST_OVERLAID} of ${columns.length} are drawn.</p>`}
${renderFigureRow(figures.map((spec) => ({ spec, table: null })))}`,
    });
  sections.push({ id: "method", heading: "How was it compared?", body: methodBody(comparison) });
  return renderShell({
    kind: "Comparison",
    title: columns.length === 2 ? `${columns[1]!.label} against ${reference.label}` : `${columns.length} compared`,
    subtitle: columns.map((c) => c.detail).join(" · "),
    simulated: options.simulated,
    verdict: null,
    sections,
    data: [{ id: "codestair-comparison", json: options.json }],
    version: options.version,
    written: options.written,
    foot: columns
      .flatMap((c) => c.captures.map((p) => `${c.label} ${p.file ?? p.name} sha256 ${p.sha256.slice(0, 16)}…`))
      .join(" · "),
  });
}

function columnTable(columns: readonly Column[]): Html {
  return renderTable({
    caption: "What is compared; the first is the reference",
    columns: [
      { head: "name" },
      { head: "what it is" },
      { head: "resolution" },
      { head: "1 LSB", align: "number" },
      { head: "readings a second", align: "number" },
      { head: "captures" },
    ],
    rows: columns.map((c) => [
      c.label,
      c.detail,
      [...new Set(c.captures.map((p) => `${plain(p.converter.scale.bits, 4)} bit`))].join(", "),
      [...new Set(c.captures.map((p) => quantity(p.converter.scale.lsb, "V")))].join(", "),
      c.rate === null ? "not known" : `${quantity(c.rate.value, "Hz", 3)} (${c.rate.basis})`,
      c.captures.map((p) => p.name).join(", "),
    ]),
  });
}

function changeTable(reference: Column, other: ComparedColumn): Html {
  const several = new Set(other.metrics.map((m) => m.capture)).size > 1;
  const rows = other.metrics.filter(isKnown);
  const notes = notesOf(other);
  return html`${renderTable({
    caption: `${other.column.label} against ${reference.label}; ± about 95 %`,
    columns: [
      { head: "metric" },
      ...(several ? [{ head: "capture" }] : []),
      { head: reference.label, align: "number" as const },
      { head: other.column.label, align: "number" as const },
      { head: "differs by", align: "number" as const },
      { head: "change" },
    ],
    rows: rows.map((row) => [metricLabel(row.metric), ...(several ? [row.capture] : []), ...cells(row)]),
  })}
${notes.length > 0 && html`<ul>${notes.map((n) => html`<li>${n}</li>`)}</ul>`}`;
}

function cells(row: ComparedMetric): (Html | string)[] {
  const signed = isSigned(row.metric);
  const { row: scaled } = inOneUnit([row.first, row.second, { ...row.difference, unit: row.unit }], row.unit);
  const figureCell = (i: 0 | 1): Html | string => {
    const figure = scaled[i];
    if (!figure) return html`<span class="why">not part of it</span>`;
    if (figure.value === null && figure.low === null && figure.high === null)
      return html`<span class="why">not measured</span>`;
    const own = row.inLsb?.[i === 0 ? "first" : "second"];
    return html`${shownText(figure, { signed })}${own && own.value !== null && html`<br><small>${shownText(own, { signed })}</small>`}`;
  };
  const known = row.difference.value !== null || row.difference.low !== null || row.difference.high !== null;
  return [
    figureCell(0),
    figureCell(1),
    known ? shownText(scaled[2]!, { signed: true }) : "–",
    row.change === "better" || row.change === "worse"
      ? html`<strong>${CHANGES[row.change].word}</strong>`
      : row.change === "within uncertainty"
        ? "within ±"
        : row.change === "not comparable"
          ? "cannot be told"
          : "moved",
  ];
}

function methodBody({ correlation, others }: Comparison): Html {
  const volts = others.some((o) => o.metrics.some((m) => m.inLsb !== null));
  return html`<p>Each difference is the second value minus the first. Its ± is the joint interval at about 95 %: the two records' own parts
by root sum of squares, the stated limits of source, front end and reference as rectangles, all convolved (JCGM 100, 5.1; JCGM 101). Where an interval is
not symmetric, each end is combined from the two sides that can move it. A change counts only when the whole joint interval lies on one side of zero;
whether it is better or worse follows the metric (an offset is judged by its magnitude).</p>
${correlation !== null && html`<p>${correlation}</p>`}
${volts && html`<p>The resolutions differ, so what is counted in LSB is compared in volts at the pin; the figures in LSB stand below in small.</p>`}
<p>What a setting costs in rate is taken from the converter's timing where the bench file states it, else from the sample rate. For comparison: averaging n readings
divides white noise by √n, half a bit for each doubling, where the noise is at least about half an LSB.</p>`;
}
