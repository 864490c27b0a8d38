import type { ReadingHints } from "../bench/bench.ts";
import { channelColumns, type KeyedColumn } from "./channelColumns.ts";
import { columnFormat, parseNumber } from "./columnFormat.ts";
import { type Column, columnRoles } from "./columnRoles.ts";
import { type LineShape, lineShape } from "./lineShape.ts";
import { COMMENT, type LineForm, type ReadingPlan } from "./readingPlan.ts";
import { sameStream } from "./sameStream.ts";

export const NO_READING = "text without a reading";
export const TORN = "reading run into other text";

/**
 * Reads the sample as what a terminal showed: lines of a few shapes that come again and again carry the readings, all else is messages.
 * @param lines  cleaned lines of the log's beginning
 * @returns null when no shape with a number comes often enough
 */
export function planTerminal(lines: readonly string[], hints: ReadingHints): ReadingPlan | null {
  const shapes = new Map<string, { count: number; first: number; examples: { line: number; shape: LineShape }[] }>();
  let seen = 0;
  lines.forEach((text, i) => {
    if (text === "" || COMMENT.test(text)) return;
    seen++;
    const shape = lineShape(text);
    if (!shape.slots.some((s) => s.kind === "number")) return;
    const entry = shapes.get(shape.id) ?? { count: 0, first: i + 1, examples: [] };
    entry.count++;
    entry.examples.push({ line: i + 1, shape });
    shapes.set(shape.id, entry);
  });
  if (shapes.size === 0) return null;
  const most = Math.max(...[...shapes.values()].map((s) => s.count));
  // Messages of the start-up come once a restart; prints of readings come on and on.
  let kept = [...shapes].filter(([, s]) => s.count >= Math.max(most > 3 ? 2 : 1, 0.02 * most));
  const first = columnsOf(kept, hints);
  const channels = channelColumns(first.columns, hints);
  if (channels.size === 0) return null;
  kept = kept.filter(([, s]) =>
    s.examples[0]!.shape.slots.some((slot, i) => channels.has(columnKey(slot, i, s.examples[0]!.shape))),
  );
  const kinds = columnsOf(kept, hints);
  const chosen = channelColumns(kinds.columns, hints);
  const roled = kinds.columns.map((c) =>
    c.role === "code" && !chosen.has(c.key) ? { ...c, role: "ignore" as const } : c,
  );
  const codes = roled.filter((c) => c.role === "code");
  if (codes.length === 0 && !roled.some((c) => c.role === "volts")) return null;

  const indexOf = new Map(roled.map((c) => [c.key, c.index]));
  const accepted = new Map<string, readonly number[]>(
    kept.map(([id, s]) => {
      const shape = s.examples[0]!.shape;
      return [id, shape.slots.map((slot, i) => indexOf.get(columnKey(slot, i, shape)) ?? -1)];
    }),
  );
  const explained = kept.reduce((n, [, s]) => n + s.count, 0);
  const together = kept.every(([, s]) => {
    const shape = s.examples[0]!.shape;
    const keys = new Set(shape.slots.map((slot, i) => columnKey(slot, i, shape)));
    return codes.every((c) => keys.has(c.key));
  });
  const tag = roled.find((c) => c.role === "tag");
  const base: Omit<ReadingPlan, "form" | "columns" | "perLine"> = {
    kind: "terminal",
    layout: tag !== undefined ? "tagged" : together ? "rows" : "ragged",
    bytePairs: null,
    delimiter: null,
    decimal: ".",
    header: null,
    headerLine: 0,
    dataLine: Math.min(...kept.map(([, s]) => s.first)),
    firstLineCut: false,
    comment: COMMENT,
    remarks: [],
    explained,
    seen,
  };
  // Several nameless readings in a line may be one stream.
  const nameless = codes.filter((c) => !c.named);
  const keyedFirst = codes.length > 1 && codes.slice(1).every((c) => !c.named);
  if (
    together &&
    kept.length === 1 &&
    (nameless.length === codes.length || keyedFirst) &&
    codes.length > 1 &&
    hints.interleave === undefined
  ) {
    if (sameStream(codes.map((c) => c.facts.numbers))) {
      const lead = codes[0]!;
      const others = roled.filter((c) => c.role !== "code");
      const columns = [...others, lead];
      const form = streamForm(
        accepted,
        others.map((c) => c.index),
        codes.map((c) => c.index),
        roled,
      );
      return { ...base, form, columns: columns.map((c, index) => ({ ...c, index })), perLine: true };
    }
  }
  return { ...base, form: terminalForm(accepted, roled), columns: roled, perLine: false };
}

/** Keys name their column; other numbers are told apart by their place among the nameless ones of the line. */
function columnKey(slot: LineShape["slots"][number], i: number, shape: LineShape): string {
  if (slot.kind === "clock") return `@clock${shape.slots.slice(0, i).filter((s) => s.kind === "clock").length}`;
  if (slot.name !== "") {
    const same = shape.slots.slice(0, i).filter((s) => s.name === slot.name).length;
    return same === 0 ? slot.name : `${slot.name}.${same + 1}`;
  }
  return `#${shape.slots.slice(0, i).filter((s) => s.kind !== "clock" && s.name === "").length + 1}`;
}

function columnsOf(
  kept: readonly (readonly [string, { count: number; examples: { line: number; shape: LineShape }[] }])[],
  hints: ReadingHints,
): { columns: KeyedColumn[]; lineOf: Map<string, Set<string>> } {
  const fields = new Map<string, { line: number; text: string; slot: LineShape["slots"][number] }[]>();
  const lineOf = new Map<string, Set<string>>();
  for (const [id, s] of kept) {
    for (const { line, shape } of s.examples) {
      shape.slots.forEach((slot, i) => {
        const key = columnKey(slot, i, shape);
        const list = fields.get(key) ?? [];
        list.push({ line, text: slot.text, slot });
        fields.set(key, list);
        const ids = lineOf.get(key) ?? new Set();
        ids.add(id);
        lineOf.set(key, ids);
      });
    }
  }
  const columns: (Column & { key: string; count: number })[] = [...fields].map(([key, list], index) => {
    const inOrder = list.sort((a, b) => a.line - b.line);
    const named = !key.startsWith("#") && !key.startsWith("@");
    return {
      index,
      key,
      name: named ? key : key.startsWith("@") ? "clock" : key === "#1" ? "reading" : `reading ${key.slice(1)}`,
      named,
      facts: columnFormat(
        inOrder.map((f) => f.text),
        { base: hints.base, decimal: hints.decimal },
      ),
      unit: inOrder[0]?.slot.unit ?? null,
      count: list.length,
    };
  });
  const roled = columnRoles(columns, hints);
  return { columns: roled.map((r, i) => ({ ...r, key: columns[i]!.key, count: columns[i]!.count })), lineOf };
}

/** Looks a line up among the accepted shapes and lays its numbers out by column. */
function terminalForm(accepted: ReadonlyMap<string, readonly number[]>, columns: readonly KeyedColumn[]): LineForm {
  const one: string[][] = [[]];
  const codeKeys = columns.filter((c) => c.role === "code" && c.named).map((c) => c.key);
  const patterns = columns.some((c) => c.role === "code" && (c.facts.format.base === 16 || c.facts.ambiguous))
    ? [...accepted]
        .filter(([id]) => !id.startsWith("\u0003"))
        .map(([id, places]) => ({ pattern: skeletonPattern(id), places }))
    : [];
  return {
    rows(text) {
      const shape = lineShape(text);
      const places = accepted.get(shape.id);
      const fields = new Array<string>(columns.length).fill("");
      if (places !== undefined && places.length === shape.slots.length) {
        // Keys may come in any order: they are laid out by name, the rest by place.
        shape.slots.forEach((slot, i) => {
          const at = slot.keyed ? columns.find((c) => c.key === columnKey(slot, i, shape))?.index : places[i];
          if (at !== undefined && at >= 0) fields[at] = slot.text;
        });
        one[0] = fields;
        return one;
      }
      for (const { pattern, places: at } of patterns) {
        const m = pattern.exec(text);
        if (m === null) continue;
        at.forEach((column, i) => {
          if (column >= 0) fields[column] = m[i + 1]!;
        });
        one[0] = fields;
        return one;
      }
      return shape.slots.length > 0 && codeKeys.some((k) => text.includes(k)) ? TORN : NO_READING;
    },
  };
}

/** A skeleton as a pattern whose numbers may be hexadecimal words without a digit in them, such as FACE. */
function skeletonPattern(id: string): RegExp {
  const source = [...id]
    .map((c) =>
      c === "\u0001"
        ? "\\s*([+-]?[0-9A-Za-z.]+?)\\s*"
        : c === "\u0002"
          ? "\\s*(\\S+(?: [\\d:.,]+)?)\\s*"
          : c === " "
            ? "\\s+"
            : c.replace(/[\\^$.*+?()[\]{}|/-]/g, "\\$&"),
    )
    .join("");
  return new RegExp(`^${source}$`);
}

function streamForm(
  accepted: ReadonlyMap<string, readonly number[]>,
  others: readonly number[],
  codes: readonly number[],
  columns: readonly KeyedColumn[],
): LineForm {
  const inner = terminalForm(accepted, columns);
  return {
    rows(text) {
      const rows = inner.rows(text);
      if (typeof rows === "string") return rows;
      const fields = rows[0]!;
      const lead = others.map((i) => fields[i] ?? "");
      const none = others.map(() => "");
      const bad = codes.some((i) => Number.isNaN(parseNumber(fields[i] ?? "", columns[i]!.facts.format)));
      if (bad) return TORN;
      return codes.map((i, k) => [...(k === 0 ? lead : none), fields[i] ?? ""]);
    },
  };
}
