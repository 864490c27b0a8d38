import { idealTransition, voltageOfCode } from "../lib/bench/scale.ts";
import type { CaptureScore, SessionScore } from "../lib/session.ts";
import { csvLine } from "./tableText.ts";

type Line = readonly (string | number | null)[];
type Lines = Iterable<Line>;

/** Columns are in SI or LSB, as their heads say. A file is given as a generator: the codes of a long record never stand in memory as text. */
const TABLES: Readonly<
  Record<string, { head: Line | ((c: CaptureScore) => Line); rows: (c: CaptureScore) => Lines | null }>
> = {
  codes: { head: ["reading", "time_s", "code", "volts"], rows: codes },
  transitions: { head: ["code", "transition_V", "standard_V", "ideal_V"], rows: transitions },
  inl: { head: ["code", "inl_LSB", "standard_LSB"], rows: (c) => overCodes(c, "inl") },
  dnl: { head: ["code", "dnl_LSB", "standard_LSB"], rows: (c) => overCodes(c, "dnl") },
  histogram: { head: ["code", "counted", "ideal"], rows: histogram },
  spectrum: { head: (c) => [frequencyHead(c), "level_dBFS"], rows: spectrum },
  harmonics: {
    head: (c) => ["order", frequencyHead(c), "level_dBc", "low_dBc", "high_dBc", "remark"],
    rows: harmonics,
  },
  fit: { head: ["reading", "code", "fitted", "difference_LSB"], rows: fit },
  steps: {
    head: ["applied_V", "direction", "readings", "left_out", "mean_code", "standard_LSB", "volts", "inl_LSB", "remark"],
    rows: steps,
  },
  steady: { head: ["code", "counted"], rows: (c) => c.curves.steady?.counts.map((k) => [k.code, k.count]) ?? null },
  course: { head: ["first_reading", "mean_code", "standard_LSB"], rows: course },
};

/**
 * Every table of a session as CSV, by file name: `tone.codes.csv`, `tone.inl.csv` and so on, and `figures.csv` with all metrics.
 * @returns a map to chunks of text; gaps (not tested) are empty fields
 */
export function renderTables(session: SessionScore): Map<string, Iterable<string>> {
  const files = new Map<string, Iterable<string>>([["figures.csv", chunks(FIGURE_HEAD, figures(session))]]);
  const names = new Set<string>();
  for (const capture of session.captures) {
    const name = fileName(capture.spec.name, names);
    for (const [kind, { head, rows }] of Object.entries(TABLES)) {
      const lines = rows(capture);
      if (lines !== null)
        files.set(`${name}.${kind}.csv`, chunks(typeof head === "function" ? head(capture) : head, lines));
    }
  }
  return files;
}

/** A capture's name as part of a file name: no separators, no dots at the start, no two alike. */
function fileName(capture: string, taken: Set<string>): string {
  const plain =
    capture
      .replace(/[^\p{L}\p{N}._-]+/gu, "-")
      .replace(/^[.-]+/, "")
      .slice(0, 60) || "capture";
  let name = plain;
  for (let n = 2; taken.has(name.toLowerCase()); n++) name = `${plain}-${n}`;
  taken.add(name.toLowerCase());
  return name;
}

/** Lines gathered to pieces of some 64 kB, so that writing costs one call a piece and not one a line. */
function* chunks(head: Line, lines: Lines): Generator<string> {
  let text = csvLine(head);
  for (const line of lines) {
    text += csvLine(line);
    if (text.length > 65_536) {
      yield text;
      text = "";
    }
  }
  if (text !== "") yield text;
}

const FIGURE_HEAD: Line = ["capture", "metric", "value", "low", "high", "uncertainty", "unit", "method", "reason"];

function* figures(session: SessionScore): Generator<Line> {
  for (const c of session.captures)
    for (const [metric, f] of Object.entries(c.figures))
      if (f) yield [c.spec.name, metric, f.value, f.low, f.high, f.uncertainty, f.unit, f.method, f.reason ?? null];
}

function* codes({ record }: CaptureScore): Generator<Line> {
  const { log, scale, sampleRate } = record;
  const seconds = log.time?.seconds.length === record.codes.length ? log.time.seconds : null;
  for (let n = 0; n < record.codes.length; n++) {
    const code = record.codes[n] as number;
    const time = seconds ? (seconds[n] as number) : sampleRate ? round(n / sampleRate.value) : null;
    yield [n, time, code, round(voltageOfCode(scale, code))];
  }
}

/** Nine digits: a thousandth of an LSB of a 20-bit converter, without the tail of binary fractions. */
function round(value: number): number {
  return Number(value.toPrecision(9));
}

function* transitionRows({ record, curves }: CaptureScore): Generator<Line> {
  const t = curves.transitions!;
  for (let i = 0; i < t.volts.length; i++)
    yield [t.first + i, t.volts[i]!, t.voltsU[i]!, round(idealTransition(record.scale, t.first + i))];
}

function transitions(c: CaptureScore): Lines | null {
  return c.curves.transitions ? transitionRows(c) : null;
}

function overCodes({ curves }: CaptureScore, kind: "inl" | "dnl"): Lines | null {
  const t = curves.transitions;
  if (!t) return null;
  const standard = kind === "inl" ? t.inlU : t.dnlU;
  // The last transition has no code above it whose width could be told.
  const length = kind === "inl" ? t.inl.length : Math.max(0, t.dnl.length - 1);
  return (function* (): Generator<Line> {
    for (let i = 0; i < length; i++)
      yield [t.first + i, t[kind][i]!, Number.isFinite(t[kind][i]) ? standard[i]! : null];
  })();
}

function histogram({ curves }: CaptureScore): Lines | null {
  const h = curves.histogram;
  if (!h) return null;
  return (function* (): Generator<Line> {
    for (let code = 0; code < h.counts.length; code++) yield [code, h.counts[code]!, h.expected[code]!];
  })();
}

/** Without a sampling rate a frequency is known in cycles per reading only. */
function frequencyHead({ curves }: CaptureScore): string {
  return curves.spectrum?.inHertz ? "frequency_Hz" : "cycles_per_reading";
}

function spectrum({ curves }: CaptureScore): Lines | null {
  const s = curves.spectrum;
  if (!s) return null;
  return (function* (): Generator<Line> {
    for (let i = 0; i < s.level.length; i++) yield [round(i * s.binWidth), round(s.level[i]!)];
  })();
}

function harmonics({ curves }: CaptureScore): Lines | null {
  const list = curves.spectrum?.harmonics;
  return list && list.length > 0 ? list.map((h) => [h.order, h.frequency, h.level, h.low, h.high, h.note]) : null;
}

function fit({ record }: CaptureScore): Lines | null {
  const { fit: f, codes: y } = record;
  if (f === null) return null;
  return (function* (): Generator<Line> {
    for (let n = 0; n < y.length; n++) {
      const fitted = f.offset + f.amplitude * Math.cos(2 * Math.PI * f.cyclesPerReading * n + f.phase);
      yield [n, y[n]!, round(fitted), round((y[n] as number) - fitted)];
    }
  })();
}

function steps({ record, curves }: CaptureScore): Lines | null {
  const points = curves.steps?.points;
  if (!points || points.length === 0) return null;
  return points.map((p) => [
    p.applied,
    p.direction,
    p.readings,
    p.settling,
    round(p.meanCode),
    p.standard,
    round(voltageOfCode(record.scale, p.meanCode)),
    p.inl,
    p.note,
  ]);
}

function course({ curves }: CaptureScore): Lines | null {
  const blocks = curves.steady?.blocks;
  if (!blocks || blocks.mean.length === 0) return null;
  return [...blocks.mean].map((m, i) => [i * blocks.readingsEach, round(m), blocks.standard[i]!]);
}
