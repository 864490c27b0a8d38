import type { ReadingHints } from "../bench/bench.ts";
import { channelColumns, type KeyedColumn } from "./channelColumns.ts";
import { columnFormat } from "./columnFormat.ts";
import { readName } from "./columnName.ts";
import { columnRoles, type RoledColumn } from "./columnRoles.ts";
import { shapeProgram } from "./lineProgram.ts";
import { type LineShape, lineShape, type Slot } from "./lineShape.ts";
import type { ReadingPlan } from "./readingPlan.ts";
import { sameStream } from "./sameStream.ts";
import { columnKey, isPairs, streamForm, streamStem, terminalForm } from "./terminalForms.ts";

interface ShapeLines {
  readonly id: string;
  readonly lines: { readonly line: number; readonly shape: LineShape }[];
}

/**
 * Reads the sample as what a terminal showed: lines of a few shapes that come again and again carry the readings, all else is messages.
 * @param lines    cleaned lines of the log's beginning
 * @param comment  what a comment line looks like
 * @returns null when no shape with a number comes often enough
 */
export function planTerminal(lines: readonly string[], hints: ReadingHints, comment: RegExp): ReadingPlan | null {
  const plan = planShapes(lines, hints, comment, false);
  // `buf[0] = 5`, `buf[1] = 6`, …: as many channels as lines are no channels, but one counted through.
  const channels = plan?.columns.filter((c) => c.role === "code").length ?? 0;
  if (plan === null || (channels > 4 && channels > 0.25 * plan.explained)) {
    return planShapes(lines, hints, comment, true) ?? plan;
  }
  return plan;
}

function planShapes(
  lines: readonly string[],
  hints: ReadingHints,
  comment: RegExp,
  indexIsNumber: boolean,
): ReadingPlan | null {
  const shapes = new Map<string, ShapeLines>();
  let seen = 0;
  lines.forEach((text, i) => {
    if (text === "" || comment.test(text)) return;
    seen++;
    const shape = lineShape(text, indexIsNumber);
    if (!shape.slots.some((s) => s.kind === "number")) return;
    const entry = shapes.get(shape.id) ?? { id: shape.id, lines: [] };
    entry.lines.push({ line: i + 1, shape });
    shapes.set(shape.id, entry);
  });
  if (shapes.size === 0) return null;
  const all = [...shapes.values()];
  const base = { hints, comment, seen };
  const stream = planBuffer(all, base);
  if (stream !== null) return stream;

  const most = Math.max(...all.map((s) => s.lines.length));
  // Messages of the start-up come once a restart; prints of readings come on and on.
  const main = all.reduce((a, b) => (b.lines.length > a.lines.length ? b : a));
  const often = all.filter(
    (s) => s.lines.length >= Math.max(most > 3 ? 2 : 1, 0.02 * most) && (s === main || isKin(s, main)),
  );
  const found = columnsOf(often, hints);
  const shapeKeys = often.map(
    (s) => new Set(s.lines[0]!.shape.slots.map((slot, i) => columnKey(slot, i, s.lines[0]!.shape))),
  );
  const beside = (key: string, codes: readonly string[]): boolean =>
    shapeKeys.some((keys) => keys.has(key) && codes.some((c) => keys.has(c)));
  const channels = channelColumns(found, hints, beside);
  const holds = (s: ShapeLines): boolean => {
    const { shape } = s.lines[0]!;
    return shape.slots.some((slot, i) => channels.has(columnKey(slot, i, shape)));
  };
  const kept = often.filter(holds);
  if (kept.length === 0) return null;
  const columns = columnsOf(kept, hints);
  const chosen = channelColumns(columns, hints, beside);
  const roled = columns.map((c) => (c.role === "code" && !chosen.has(c.key) ? { ...c, role: "ignore" as const } : c));
  const codes = withoutTwins(roled);
  if (codes.length === 0 && !roled.some((c) => c.role === "volts")) return null;

  const indexOf = new Map(roled.map((c) => [c.key, c.index]));
  const keysOf = ({ lines: l }: ShapeLines): string[] =>
    l[0]!.shape.slots.map((slot, i) => columnKey(slot, i, l[0]!.shape));
  const accepted = new Map(kept.map((s) => [s.id, keysOf(s).map((k) => indexOf.get(k) ?? -1)]));
  const others = new Set(hints.channel === undefined ? [] : often.filter((s) => !accepted.has(s.id)).map((s) => s.id));
  const together = kept.every((s) => codes.every((c) => keysOf(s).includes(c.key)));
  const tagged = roled.some((c) => c.role === "tag");
  const programs = kept.flatMap((s) => {
    const { line, shape } = s.lines[0]!;
    const places = accepted.get(s.id)!;
    const reads = codes.length > 0 && codes[together ? "every" : "some"]((c) => places.includes(c.index));
    return (reads ? shapeProgram(lines[line - 1]!, shape, places, roled) : null) ?? [];
  });
  return {
    ...common(base, kept),
    programs: tagged ? [] : programs,
    form: terminalForm(accepted, roled, indexIsNumber, others),
    columns: roled,
    layout: tagged ? "tagged" : together ? "rows" : "ragged",
    perLine: false,
  };
}

/**
 * May lines of another shape be readings like the main ones? With keys they speak for themselves; bare numbers must come often and lie in the same range:
 * `115200 baud` at each restart does not.
 */
function isKin(s: ShapeLines, main: ShapeLines): boolean {
  if (isPairs(s.id) || s.lines[0]!.shape.slots.some((x) => x.name !== "")) return true;
  if (s.lines.length < 0.1 * main.lines.length) return false;
  const last = (l: ShapeLines): number[] =>
    l.lines.flatMap(({ shape }) => {
      const slot = shape.slots.findLast((x) => x.kind === "number");
      const value = slot === undefined ? Number.NaN : Number(slot.bare);
      return Number.isNaN(value) ? [] : [value];
    });
  const range = last(main);
  const own = last(s);
  if (range.length === 0 || own.length === 0) return true;
  const low = range.reduce((a, b) => Math.min(a, b));
  const high = range.reduce((a, b) => Math.max(a, b));
  const span = high - low + 16;
  return own.filter((v) => v >= low - span && v <= high + span).length >= 0.8 * own.length;
}

/** One reading printed in two bases, `2047 (0x7FF)`, is one channel: the second print is left aside. Changes the roles. */
function withoutTwins(columns: KeyedColumn[]): KeyedColumn[] {
  const codes = columns.filter((c) => c.role === "code");
  for (const twin of codes) {
    const first = codes.find(
      (c) =>
        c !== twin &&
        c.index < twin.index &&
        c.role === "code" &&
        c.facts.format.base !== twin.facts.format.base &&
        c.facts.numbers.length === twin.facts.numbers.length &&
        c.facts.numbers.every((v, i) => v === twin.facts.numbers[i]),
    );
    if (first !== undefined) columns[twin.index] = { ...twin, role: "ignore" };
  }
  return columns.filter((c) => c.role === "code");
}

interface Base {
  readonly hints: ReadingHints;
  readonly comment: RegExp;
  readonly seen: number;
}

function common({ comment, seen }: Base, kept: readonly ShapeLines[]) {
  return {
    kind: "terminal" as const,
    bytePairs: null,
    delimiter: null,
    decimal: "." as const,
    header: null,
    headerLine: 0,
    dataLine: Math.min(...kept.map((s) => s.lines[0]!.line)),
    firstLineCut: false,
    comment,
    remarks: [],
    explained: kept.reduce((n, s) => n + s.lines.length, 0),
    seen,
  };
}

/** A printed buffer: lines of the same words with several readings of one channel behind them. */
function planBuffer(all: readonly ShapeLines[], base: Base): ReadingPlan | null {
  const { hints } = base;
  if (hints.interleave !== undefined) return null;
  const main = all.reduce((a, b) => (b.lines.length > a.lines.length ? b : a));
  const { stem, readings } = streamStem(main.id);
  if (readings < 2) return null;
  const kept = all.filter((s) => streamStem(s.id).stem === stem);
  const lead = main.lines[0]!.shape.slots.length - readings;
  const tail = main.lines[0]!.shape.slots.slice(lead);
  // Words between the readings name channels; only the first may have one, that of the buffer.
  if (tail.slice(1).some((s) => s.name !== "" || s.suffix !== null) || tail[0]!.suffix !== null) return null;
  const texts = kept.flatMap((s) =>
    s.lines.map((l) => ({ line: l.line, fields: l.shape.slots.slice(lead).map((x) => x.text) })),
  );
  texts.sort((a, b) => a.line - b.line);
  const facts = columnFormat(
    texts.flatMap((t) => t.fields),
    { base: hints.base, decimal: hints.decimal },
  );
  if (facts.format.kind !== "whole" || facts.readable < 0.9) return null;
  const table = main.lines.map(
    (l) =>
      columnFormat(
        l.shape.slots.slice(lead).map((s) => s.text),
        { base: facts.format.base },
      ).numbers,
  );
  const columns = Array.from({ length: readings }, (_, c) => table.map((row) => row[c]!));
  if (!sameStream(columns)) return null;
  const leading = columnsOf(
    [
      {
        id: main.id,
        lines: main.lines.map((l) => ({ ...l, shape: { ...l.shape, slots: l.shape.slots.slice(0, lead) } })),
      },
    ],
    hints,
  );
  const name = tail[0]!.name;
  const codes: RoledColumn = {
    index: lead,
    name: name === "" ? "reading" : name,
    named: name !== "",
    facts,
    unit: null,
    role: "code",
    timeUnit: null,
  };
  const leads = leading.map((c) =>
    c.role === "time" || c.role === "sequence" ? c : { ...c, role: "ignore" as const },
  );
  return {
    ...common(base, kept),
    form: streamForm(stem, leads, codes, name),
    columns: [...leads, codes],
    layout: "rows",
    perLine: true,
  };
}

function columnsOf(shapes: readonly ShapeLines[], hints: ReadingHints): KeyedColumn[] {
  const fields = new Map<string, { line: number; slot: Slot }[]>();
  for (const { lines } of shapes) {
    for (const { line, shape } of lines) {
      shape.slots.forEach((slot, i) => {
        const key = columnKey(slot, i, shape);
        const list = fields.get(key) ?? [];
        list.push({ line, slot });
        fields.set(key, list);
      });
    }
  }
  const columns = [...fields].map(([key, list], index) => {
    list.sort((a, b) => a.line - b.line);
    const first = list[0]!.slot.suffix;
    const suffix = list.every((f) => f.slot.suffix === first) ? first : null;
    const texts = list.map((f) => (suffix === null ? f.slot.text : f.slot.bare));
    const named = !key.startsWith("#") && !key.startsWith("@");
    return {
      index,
      key,
      name: named ? key : key.startsWith("@") ? "clock" : key === "#1" ? "reading" : `reading ${key.slice(1)}`,
      named,
      texts,
      facts: columnFormat(texts, { base: hints.base, decimal: hints.decimal }),
      unit: list.every((f) => f.slot.unit === list[0]!.slot.unit) ? list[0]!.slot.unit : null,
      suffix,
      count: list.length,
    };
  });
  // Channels of one print are written in one base: `adc0=7FF adc1=0123`.
  const hex = columns.filter((c) => c.facts.format.base === 16);
  const stem = (key: string): string => key.replace(/\d+/g, "");
  const settled = columns.map((c) =>
    c.facts.ambiguous && hex.some((h) => stem(h.key) === stem(c.key))
      ? { ...c, facts: columnFormat(c.texts, { base: 16 }) }
      : c,
  );
  const roles = columnRoles(settled, hints);
  const lineOf = (i: number): ReadonlySet<number> => new Set(fields.get(settled[i]!.key)!.map((f) => f.line));
  const codeLines = new Set(roles.flatMap((r, i) => (r.role === "code" ? [...lineOf(i)] : [])));
  return roles.map((r, i) => ({
    ...r,
    // What only runs like a stamp, on lines of its own, stamps nothing: it is a ramp's codes.
    ...((r.role === "time" || r.role === "sequence") &&
    r.facts.format.kind === "whole" &&
    readName(r.name).role === null &&
    ![...lineOf(i)].some((l) => codeLines.has(l))
      ? { role: "code" as const, timeUnit: null }
      : {}),
    key: settled[i]!.key,
    count: settled[i]!.count,
    suffix: settled[i]!.suffix,
  }));
}
