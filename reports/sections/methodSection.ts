import type { Bench, Converter } from "../../lib/bench/bench.ts";
import { METRIC_NAMES, METRICS, type MetricName } from "../../lib/bench/metrics.ts";
import type { Figure } from "../../lib/judge/figure.ts";
import type { CaptureScore, SessionScore } from "../../lib/session.ts";
import { type Html, type HtmlValue, html } from "../html.ts";
import { isSigned, metricLabel } from "../metricLabel.ts";
import { counted, plain, quantity, shownText } from "../number.ts";
import { sharedClauses } from "../sharedClauses.ts";
import { renderTable } from "../table.ts";

/** How it was measured: settings, files and their hashes, how each figure was got and where its interval comes from, formulas and their sources, cautions. */
export function methodSection(session: SessionScore): Html {
  const { captures, bench } = session;
  const used = METRIC_NAMES.filter((m) => captures.some((c) => c.figures[m] !== undefined));
  return html`<h3>Settings</h3>
${settings(session)}
<h3>Files</h3>
${filesTable(session)}
<h3>How each figure was got</h3>
<p>Each interval covers about 95 %: what this record itself leaves open (few readings, noise, drift), joined with the ± limits that the bench file states for source, front end and reference. Such a limit acts in full through a whole capture, so more readings do not shrink it.</p>
${captures.map(budgetTable)}
${
  used.length > 0 &&
  html`<details class="for-print"><summary>Formulas and their sources</summary>${renderTable({
    caption: "Formulas",
    columns: [{ head: "metric" }, { head: "formula" }, { head: "source" }],
    rows: used.map((m) => [
      metricLabel(m),
      html`<span class="code">${METRICS[m].formula}</span>`,
      html`<small>${METRICS[m].source}</small>`,
    ]),
  })}<p><small>Q is the width of one code, FSR the full-scale range, N the bits, T[k] the input at which code k begins, y a code, M the readings, A the amplitude, p the parameters fitted, NAD noise and distortion (rms). Intervals: JCGM 100:2008 and JCGM 101:2008. Decisions: JCGM 106:2012 and ILAC-G8:09/2019${bench.decision === "simple" ? " (simple acceptance)" : " (guarded)"}.</small></p></details>`
}
<h3>Before you connect anything</h3>
<p class="aside">Low-voltage bench work only. Connect the common ground before the signal. A source that can drive a pin beyond its supply sends current through the protection diodes: keep offset ± amplitude within what the converter's datasheet allows. A front end connected to the mains needs isolation and a qualified person; local electrical rules come first.</p>`;
}

function converterText(c: Converter): string {
  const parts = [
    `${c.bits} bit`,
    `${quantity(c.low, "V", 6)} to ${quantity(c.high, "V", 6)}`,
    c.coding,
    ...(c.align === "left" ? [`left-aligned in ${c.container} bits`] : []),
    `first transition ${c.firstTransition} LSB above the bottom`,
    `${c.line} line`,
  ];
  if (c.averaging)
    parts.push(`firmware sums ${c.averaging.readings} readings and shifts right by ${c.averaging.shift}`);
  return parts.join(", ");
}

function settings(session: SessionScore): Html {
  const { bench } = session;
  const { converter, frontEnd } = bench;
  const entries: [string, HtmlValue][] = [["converter", converterText(converter)]];
  const { timing, input, reference, pin } = converter;
  if (timing)
    entries.push([
      "timing",
      `${quantity(timing.clock, "Hz")} clock; ${timing.sampleCycles} cycles sampling, ${timing.conversionCycles} converting, ${timing.overheadCycles} overhead`,
    ]);
  if (input.sourceResistance !== null || input.switchResistance !== null || input.sampleCapacitance !== null)
    entries.push([
      "input",
      [
        input.sourceResistance !== null && `source ${quantity(input.sourceResistance, "Ω")}`,
        input.switchResistance !== null && `switch ${quantity(input.switchResistance, "Ω")}`,
        input.sampleCapacitance !== null && `sampling capacitor ${quantity(input.sampleCapacitance, "F")}`,
      ]
        .filter((t) => t !== false)
        .join(", "),
    ]);
  entries.push([
    "pin",
    `${quantity(pin.low, "V")} to ${quantity(pin.high, "V")}${pin.stated ? "" : " (range ± 0.3 V assumed; the datasheet decides)"}`,
  ]);
  if (reference)
    entries.push([
      "reference",
      `${reference.measured === null ? `nominal ${quantity(reference.nominal, "V", 6)}` : `measured ${quantity(reference.measured, "V", 6)}`}, ± ${quantity(reference.accuracy, "V", 3)}${reference.ratiometric ? ", ratiometric" : ""}`,
    ]);
  if (frontEnd)
    entries.push([
      "front end",
      `gain ${plain(frontEnd.gain, 6)}, offset ${quantity(frontEnd.offset, "V")}, ± ${plain(frontEnd.accuracy * 100, 3)} % of gain`,
    ]);
  for (const [key, value] of Object.entries(bench.conditions)) entries.push([key, value]);
  return html`<dl class="settings">${entries.map(([key, value]) => html`<dt>${key}</dt><dd>${value}</dd>`)}</dl>
${session.captures.map((c) => captureSettings(c, bench))}`;
}

function captureSettings({ spec, record }: CaptureScore, bench: Bench): Html {
  const parts: string[] = [];
  const { stimulus } = spec;
  if (stimulus) {
    const a = stimulus.accuracy;
    const stated: string[] = [];
    if (stimulus.kind === "sine") {
      const s = stimulus.accuracy;
      if (s.frequency > 0) stated.push(`frequency ± ${plain(s.frequency * 1e6, 3)} ppm`);
      if (s.amplitude > 0) stated.push(`amplitude ± ${plain(s.amplitude * 100, 3)} %`);
      if (s.offset > 0) stated.push(`offset ± ${quantity(s.offset, "V", 3)}`);
    } else if ("gain" in a) {
      if (a.gain > 0) stated.push(`gain ± ${plain(a.gain * 100, 3)} %`);
      if (a.offset > 0) stated.push(`offset ± ${quantity(a.offset, "V", 3)}`);
      if (a.linearity > 0) stated.push(`linearity ± ${plain(a.linearity * 1e6, 3)} ppm`);
      if (a.repeatability > 0) stated.push(`repeatability ± ${quantity(a.repeatability, "V", 3)}`);
    }
    parts.push(
      `${stimulus.kind}; ${stated.length > 0 ? `the source states ${stated.join(", ")}` : "the source's accuracy is not stated and not included"}`,
    );
  } else parts.push("no stimulus stated");
  if (converterText(spec.converter) !== converterText(bench.converter))
    parts.push(`converter set to ${converterText(spec.converter)}`);
  const own = Object.entries(spec.conditions)
    .filter(([k, v]) => bench.conditions[k] !== v)
    .map(([k, v]) => `${k} ${v}`);
  if (own.length > 0) parts.push(own.join(", "));
  return html`<p class="aside"><strong>${spec.name}</strong>, channel ${record.channel}: ${parts.join("; ")}.</p>`;
}

function filesTable(session: SessionScore): Html {
  return renderTable({
    caption: "The logs, by the SHA-256 of the files as they lie on disk",
    columns: [{ head: "capture" }, { head: "file" }, { head: "readings", align: "number" }, { head: "SHA-256" }],
    rows: session.captures.map((c) => [
      c.spec.name,
      html`<span class="code">${c.spec.file ?? "standard input"}</span>`,
      counted(c.record.codes.length),
      html`<span class="code hash">${c.sha256}</span>`,
    ]),
  });
}

function budgetTable(capture: CaptureScore): Html | null {
  const entries = METRIC_NAMES.flatMap((m): [MetricName, Figure][] => {
    const figure = capture.figures[m];
    // Why a metric was not measured stands below its table; here is how the others were got.
    return figure === undefined || (figure.value === null && figure.low === null && figure.high === null)
      ? []
      : [[m, figure]];
  });
  if (entries.length === 0) return null;
  const { notes, texts } = sharedClauses(entries.map(([, f]) => f.method));
  return html`<details class="for-print budget"><summary>Figures of ${capture.spec.name}: method and budget</summary>${renderTable(
    {
      caption: `Figures of ${capture.spec.name}: how each was got and where its interval comes from`,
      columns: [
        { head: "metric" },
        { head: "value" },
        { head: "method" },
        { head: "budget, half-widths" },
        { head: "what would shrink it" },
      ],
      rows: entries.map(([m, f], i) => [
        metricLabel(m),
        html`<span class="whole">${shownText(f, { signed: isSigned(m) })}</span>`,
        html`<small>${texts[i]}${f.value === null && f.reason !== undefined && `; ${f.reason}`}</small>`,
        html`<small>${f.budget.parts.map(
          (p) =>
            html`<div>${p.kind === "limit" ? "± " : ""}${plain(p.halfWidth, 2)} ${f.unit}, ${p.from}${p.kind === "limit" ? " (stated limit)" : ""}</div>`,
        )}</small>`,
        html`<small>${f.budget.advice}</small>`,
      ]),
    },
  )}${notes.length > 0 && html`<ol class="reasons-why">${notes.map((n, i) => html`<li>[${i + 1}] ${n}</li>`)}</ol>`}</details>`;
}
