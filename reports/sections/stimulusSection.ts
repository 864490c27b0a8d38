import { voltageOfCode } from "../../lib/bench/scale.ts";
import type { CaptureScore, SessionScore } from "../../lib/session.ts";
import { extent } from "../envelope.ts";
import { renderFigureRow } from "../figure.ts";
import { fitFigures } from "../figures/fitFigures.ts";
import { findingList, isQuestioned } from "../findingList.ts";
import { type Html, type HtmlValue, html } from "../html.ts";
import { counted, plain, quantity, shownText } from "../number.ts";
import { renderTable } from "../table.ts";

/** Does the log show the stimulus? Stated against found, and the record against its fitted sine. */
export function stimulusSection(session: SessionScore): Html {
  const { captures } = session;
  const sines = captures.filter((c) => c.record.stimulus?.kind === "sine");
  const rows = captures.flatMap(statedAndFound);
  return html`<p>${summary(captures)}</p>
${findingList(captures, "stimulus")}
${
  rows.length > 0 &&
  renderTable({
    caption: "What the bench file states against what the log shows, at the converter's pin",
    columns: [
      { head: "capture" },
      { head: "quantity" },
      { head: "stated", align: "number" },
      { head: "found, ± about 95 %", align: "number" },
      { head: "difference", align: "number" },
    ],
    rows,
  })
}
${
  sines.length > 0 &&
  html`${captures.map((c, i) => {
    const figures = fitFigures(c, i);
    return figures.length > 0 && renderFigureRow(figures);
  })}`
}`;
}

function summary(captures: readonly CaptureScore[]): string {
  const wrong = captures.filter((c) =>
    c.findings.some(
      (f) => ["frequency-mismatch", "amplitude-mismatch", "offset-mismatch"].includes(f.id) && f.severity !== "note",
    ),
  );
  const silent = captures.filter((c) => c.record.stimulus?.kind === "sine" && c.record.fit === null);
  const unstated = captures.filter((c) => c.record.stimulus === null);
  const parts: string[] = [];
  if (silent.length > 0) parts.push(`No sine stands out of ${names(silent)}.`);
  if (wrong.length > 0) parts.push(`What was found in ${names(wrong)} is not what the bench file states.`);
  if (unstated.length > 0) parts.push(`For ${names(unstated)} the bench file states no stimulus.`);
  const others = captures.filter((c) => !wrong.includes(c) && !silent.includes(c) && isQuestioned(c, "stimulus"));
  if (others.length > 0) parts.push(`Something stands between the stimulus and the readings of ${names(others)}.`);
  if (parts.length === 0 && captures.length > 0) parts.push("The captures show what the bench file states.");
  return parts.join(" ");
}

function names(captures: readonly CaptureScore[]): string {
  return captures.map((c) => c.spec.name).join(", ");
}

function statedAndFound(capture: CaptureScore): HtmlValue[][] {
  const { record, spec } = capture;
  const { stimulus, fit, scale, sampleRate } = record;
  if (stimulus === null) return [];
  const interval = (value: number, standard: number, unit: string): string =>
    shownText({
      value,
      uncertainty: 1.96 * standard,
      low: value - 1.96 * standard,
      high: value + 1.96 * standard,
      unit,
    });
  const row = (
    name: string,
    stated: number | null,
    found: number | null,
    standard: number,
    unit: string,
  ): HtmlValue[] => [
    spec.name,
    name,
    stated === null ? "not stated" : quantity(stated, unit, 7),
    found === null ? "not found" : interval(found, standard, unit),
    stated === null || found === null ? "" : differenceText(found - stated, stated, unit),
  ];
  switch (stimulus.kind) {
    case "sine": {
      const rate = sampleRate?.value ?? null;
      // A rate worked out from the stimulus cannot test the stimulus.
      const circular = sampleRate?.basis === "stimulus";
      const rows: HtmlValue[][] = [];
      if (rate === null || fit === null || circular) {
        rows.push([
          spec.name,
          "frequency",
          stimulus.frequency === null ? "not stated" : quantity(stimulus.frequency, "Hz", 7),
          fit === null ? "not found" : `${plain(fit.cyclesPerReading, 7)} cycles a reading`,
          circular ? "gave the sampling rate" : "",
        ]);
      } else
        rows.push(
          row("frequency", stimulus.frequency, fit.cyclesPerReading * rate, fit.standard.cyclesPerReading * rate, "Hz"),
        );
      rows.push(
        row(
          "amplitude (peak)",
          stimulus.amplitude,
          fit && fit.amplitude * scale.lsb,
          fit ? fit.standard.amplitude * scale.lsb : 0,
          "V",
        ),
        row(
          "offset",
          stimulus.offset,
          fit && voltageOfCode(scale, fit.offset),
          fit ? fit.standard.offset * scale.lsb : 0,
          "V",
        ),
      );
      return rows;
    }
    case "steady": {
      const mean = capture.figures.meanCode;
      const found = mean?.value == null ? null : voltageOfCode(scale, mean.value);
      return [row("voltage", stimulus.voltage, found, ((mean?.uncertainty ?? 0) / 1.96) * scale.lsb, "V")];
    }
    case "ramp":
      return endsRow(capture, stimulus.from, stimulus.to, "from … to");
    case "triangle":
      return endsRow(capture, stimulus.low, stimulus.high, "low … high");
    case "steps": {
      const points = capture.curves.steps?.points ?? [];
      const levels = stimulus.levels?.length ?? new Set(points.map((p) => p.applied)).size;
      const visits = counted(points.length, "visit");
      const met = new Set(points.map((p) => p.applied)).size;
      return [
        [spec.name, "levels", counted(levels), points.length === 0 ? "not found" : `${counted(met)} in ${visits}`, ""],
      ];
    }
  }
}

function endsRow({ spec, record }: CaptureScore, from: number, to: number, name: string): HtmlValue[][] {
  const { codes, scale } = record;
  if (codes.length === 0) return [];
  const ends = name === "from … to" ? [codes[0]!, codes[codes.length - 1]!] : extent(codes);
  const text = (a: number, b: number): string => `${quantity(a, "V", 5)} … ${quantity(b, "V", 5)}`;
  const railed = ends.some((y) => y! <= 0 || y! >= scale.topCode);
  return [
    [
      spec.name,
      name,
      text(from, to),
      text(voltageOfCode(scale, ends[0]!), voltageOfCode(scale, ends[1]!)),
      railed ? "reaches the end codes" : "",
    ],
  ];
}

function differenceText(difference: number, stated: number, unit: string): string {
  const relative = stated === 0 ? "" : ` (${ratioText(difference / stated)})`;
  const sign = difference > 0 ? "+" : "";
  return `${sign}${quantity(difference, unit, 3)}${relative}`;
}

function ratioText(ratio: number): string {
  const sign = ratio > 0 ? "+" : "";
  if (Math.abs(ratio) < 5e-4) return `${sign}${plain(ratio * 1e6, 2)} ppm`;
  return `${sign}${plain(ratio * 100, 2)} %`;
}
