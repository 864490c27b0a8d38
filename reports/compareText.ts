import type { Change, ComparedColumn, ComparedMetric, Comparison } from "../lib/compare/comparison.ts";
import { inOneUnit } from "./inUnit.ts";
import { isSigned, metricLabel } from "./metricLabel.ts";
import { shown } from "./number.ts";
import { SIMULATED } from "./simulatedResult.ts";
import { spreadText, terminalTable, width } from "./terminalTable.ts";
import { cleanText, inkLast, paragraph, type TextOptions, type Tone } from "./terminalText.ts";

/** How a change is said in one word, and its colour. */
export const CHANGES: Readonly<Record<Change, { word: string; tone: Tone }>> = {
  better: { word: "better", tone: "good" },
  worse: { word: "worse", tone: "bad" },
  changed: { word: "moved", tone: "open" },
  "within uncertainty": { word: "within ±", tone: "plain" },
  "not comparable": { word: "not told", tone: "plain" },
};

/** A comparison on the terminal: the answer first, then one table for each column against the reference. */
export function compareText(comparison: Comparison, simulated: boolean, options: TextOptions): string {
  const columns = Math.max(60, options.columns);
  const { reference, others } = comparison;
  const out = [...paragraph(comparison.answer, columns), ...(simulated ? [SIMULATED] : []), ""];
  for (const other of others) out.push(...columnText(reference.label, other, columns, options.colour));
  if (comparison.correlation !== null) out.push(...paragraph(comparison.correlation, columns), "");
  if (options.pagePath !== null) out.push(`Page: ${options.pagePath}`);
  while (out.at(-1) === "") out.pop();
  return `${out.join("\n")}\n`;
}

/** Labels that would push numbers off the line stand above the table instead. */
const HEAD_ROOM = 12;

function columnText(referenceLabel: string, other: ComparedColumn, columns: number, colour: boolean): string[] {
  const labels = [referenceLabel, other.column.label].map(cleanText);
  const long = labels.some((l) => width(l) > HEAD_ROOM);
  const heads = long ? ["first", "second"] : labels;
  const out = long
    ? [
        ...paragraph(`first: ${labels[0]}`, columns, "        "),
        ...paragraph(`second: ${labels[1]}`, columns, "        "),
        "",
      ]
    : [];
  const captures = [...new Set(other.metrics.map((m) => m.capture))];
  for (const capture of captures) {
    const rows = other.metrics.filter((m) => m.capture === capture && isKnown(m));
    if (rows.length === 0) continue;
    if (captures.length > 1) out.push(cleanText(capture));
    const lines = table(heads, rows, false);
    // Names give way before numbers do.
    const fitting = lines.some((l) => width(l) > columns) ? table(heads, rows, true) : lines;
    out.push(
      ...fitting.map((line, i) =>
        i === 0 ? line : inkLast(line, CHANGES[rows[i - 1]!.change].word, CHANGES[rows[i - 1]!.change].tone, colour),
      ),
      "",
    );
  }
  return [...out, ...noteLines(other, columns)];
}

/** Whether at least one side knows something of a metric. */
export function isKnown(row: ComparedMetric): boolean {
  return [row.first, row.second].some((f) => f !== null && (f.value !== null || f.low !== null || f.high !== null));
}

function table(heads: readonly string[], rows: readonly ComparedMetric[], shortNames: boolean): string[] {
  return terminalTable(
    [
      { head: "metric", align: "left" },
      { head: heads[0] ?? "", align: "point" },
      { head: heads[1] ?? "", align: "point" },
      { head: "differs by", align: "point" },
      { head: "±", align: "point" },
      { head: "unit", align: "left" },
      { head: "change", align: "left" },
    ],
    rows.map((row) => {
      const signed = isSigned(row.metric);
      const { row: scaled, unit } = inOneUnit([row.first, row.second, { ...row.difference, unit: row.unit }], row.unit);
      const [first, second, difference] = scaled;
      const d = shown(difference!, { signed: true });
      return [
        shortNames ? row.metric : metricLabel(row.metric),
        first ? shown(first, { signed }).value : "–",
        second ? shown(second, { signed }).value : "–",
        d.value,
        spreadText(d),
        unit,
        CHANGES[row.change].word,
      ];
    }),
  );
}

/** What else differs, and what could not be told, each once. */
export function notesOf(other: ComparedColumn): string[] {
  const notes = new Map<string, string[]>();
  for (const row of other.metrics) {
    if (row.note === null || !isKnown(row)) continue;
    const names = notes.get(row.note) ?? [];
    notes.set(row.note, [...names, metricLabel(row.metric)]);
  }
  const lone = (captures: readonly { name: string }[], side: string): string[] =>
    captures.length === 0 ? [] : [`Only in the ${side}: ${captures.map((c) => c.name).join(", ")}.`];
  return [
    ...[...notes].map(([note, names]) => `${[...new Set(names)].join(", ")}: ${note}`),
    ...lone(other.pairing.onlyFirst, "first"),
    ...lone(other.pairing.onlySecond, "second"),
  ];
}

function noteLines(other: ComparedColumn, columns: number): string[] {
  const lines = notesOf(other).flatMap((note) => paragraph(note, columns, "  "));
  return lines.length > 0 ? [...lines, ""] : [];
}
