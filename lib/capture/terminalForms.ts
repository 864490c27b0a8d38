import type { KeyedColumn } from "./channelColumns.ts";
import { parseNumber } from "./columnFormat.ts";
import type { RoledColumn } from "./columnRoles.ts";
import { type LineShape, lineShape, type Slot } from "./lineShape.ts";
import type { LineForm } from "./readingPlan.ts";

export const NO_READING = "text without a reading";
export const OTHER_CHANNEL = "line of another channel";
export const TORN = "reading run into other text";

/** Keys name their column; other numbers are told apart by their place among the nameless ones of the line. */
export function columnKey(slot: Slot, i: number, shape: LineShape): string {
  if (slot.kind === "clock") return `@clock${shape.slots.slice(0, i).filter((s) => s.kind === "clock").length}`;
  if (slot.name !== "") {
    const same = shape.slots.slice(0, i).filter((s) => s.name === slot.name).length;
    return same === 0 ? slot.name : `${slot.name}.${same + 1}`;
  }
  return `#${shape.slots.slice(0, i).filter((s) => s.kind !== "clock" && s.name === "").length + 1}`;
}

/**
 * Looks a line up among the accepted shapes and lays its numbers out by column.
 * @param others  shapes of lines that come as often and hold channels that were not asked for
 */
export function terminalForm(
  accepted: ReadonlyMap<string, readonly number[]>,
  columns: readonly KeyedColumn[],
  indexIsNumber: boolean,
  others: ReadonlySet<string>,
): LineForm {
  const one: string[][] = [[]];
  const indexOf = new Map(columns.map((c) => [c.key, c.index]));
  const codeKeys = columns.filter((c) => c.role === "code" && c.named).map((c) => c.key);
  const mayBeWords = columns.some((c) => c.role === "code" && (c.facts.format.base === 16 || c.facts.ambiguous));
  const patterns = mayBeWords
    ? [...accepted].filter(([id]) => !isPairs(id)).map(([id, places]) => ({ pattern: skeletonPattern(id), places }))
    : [];
  return {
    rows(text) {
      const shape = lineShape(text, indexIsNumber);
      const places = accepted.get(shape.id);
      const fields = new Array<string>(columns.length).fill("");
      if (places !== undefined && places.length === shape.slots.length) {
        // Keys may come in any order: they are laid out by name, the rest by place.
        shape.slots.forEach((slot, i) => {
          const at = slot.keyed ? (indexOf.get(columnKey(slot, i, shape)) ?? -1) : places[i]!;
          if (at >= 0) fields[at] = fieldOf(slot, columns[at]!.suffix);
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
      const words = pairsWithWords(text, accepted, indexOf, fields, mayBeWords);
      if (words !== null) {
        one[0] = words;
        return one;
      }
      if (others.has(shape.id)) return OTHER_CHANNEL;
      return shape.slots.length > 0 && codeKeys.some((k) => text.includes(k)) ? TORN : NO_READING;
    },
  };
}

/** A hexadecimal value of letters alone, `adc=FACE`, is a word to the tokeniser: a stand-in with a digit shows the line's true shape. */
function pairsWithWords(
  text: string,
  accepted: ReadonlyMap<string, readonly number[]>,
  indexOf: ReadonlyMap<string, number>,
  fields: string[],
  mayBeWords: boolean,
): string[] | null {
  if (!mayBeWords || ![...accepted.keys()].some(isPairs)) return null;
  const values: string[] = [];
  const masked = text.replace(/([=:]\s*)([A-Fa-f]{1,8})(?![\w.])/g, (_, gap: string, word: string) => {
    values.push(word);
    return `${gap}${MASK + values.length - 1}`;
  });
  if (values.length === 0) return null;
  const shape = lineShape(masked);
  const places = accepted.get(shape.id);
  if (places === undefined || places.length !== shape.slots.length) return null;
  shape.slots.forEach((slot, i) => {
    const at = slot.keyed ? (indexOf.get(columnKey(slot, i, shape)) ?? -1) : places[i]!;
    if (at < 0) return;
    const mask = Number(slot.text) - MASK;
    fields[at] = values[mask] ?? slot.text;
  });
  return fields;
}
const MASK = 987_650_000;

function fieldOf(slot: Slot, suffix: string | null): string {
  return suffix !== null && suffix === slot.suffix ? slot.bare : slot.text;
}

export function isPairs(id: string): boolean {
  return id.startsWith("\u0003");
}

/** A skeleton as a pattern whose numbers may be hexadecimal words without a digit in them, such as FACE. */
function skeletonPattern(id: string): RegExp {
  // Numbers side by side were parted by blanks.
  const source = [...id.replace(/(?<=[\u0001\u0002])(?=[\u0001\u0002])/g, " ")]
    .map((c) => {
      if (c === "\u0001") return "\\s*([+-]?[0-9A-Za-z.]+?)\\s*";
      if (c === "\u0002") return "\\s*(\\S+(?: [\\d:.,]+)?)\\s*";
      return c === " " ? "\\s+" : c.replace(/[\\^$.*+?()[\]{}|/-]/g, "\\$&");
    })
    .join("");
  return new RegExp(`^${source}$`);
}

const TAIL = /(?:\u0001[,; ]*)+$/;

/** What a line of a printed buffer begins with: its shape without the readings at its end, and how many these are. */
export function streamStem(id: string): { stem: string; readings: number } {
  const tail = TAIL.exec(id)?.[0] ?? "";
  return { stem: id.slice(0, id.length - tail.length), readings: tail.replace(/[^\u0001]/g, "").length };
}

/**
 * Lines that hold several readings of one channel behind the same words, the last line perhaps fewer: `DATA: 2047 2048 2049`.
 * @param lead    columns of the numbers before the readings, in the line's order
 * @param codes   the readings' column, last of the plan's columns
 */
export function streamForm(stem: string, lead: readonly RoledColumn[], codes: RoledColumn, firstKey: string): LineForm {
  const single = `\u0003${firstKey}~`;
  const { format } = codes.facts;
  return {
    rows(text) {
      const shape = lineShape(text);
      const found = streamStem(shape.id);
      let fields: string[];
      if (found.stem === stem && found.readings > 0) fields = shape.slots.map((s) => s.text);
      else if (shape.id === single && lead.length === 0) fields = shape.slots.map((s) => s.text);
      else {
        const words = format.base === 16 ? hexWords(text, stem, lead.length) : null;
        if (words === null) return shape.slots.length > 1 && stem !== "" && text.includes(firstKey) ? TORN : NO_READING;
        fields = words;
      }
      const readings = fields.slice(lead.length);
      if (readings.length === 0 || readings.some((f) => Number.isNaN(parseNumber(f, format)))) return TORN;
      const none = lead.map(() => "");
      return readings.map((f, i) => [...(i === 0 ? fields.slice(0, lead.length) : none), f]);
    },
  };
}

/** Hexadecimal words of letters alone are words to the tokeniser; behind the stem's text they are readings. */
function hexWords(text: string, stem: string, lead: number): string[] | null {
  if (lead > 0 || /[\u0001\u0002\u0003]/.test(stem)) return null;
  const squeezed = text.replace(/\s+/g, " ");
  if (!squeezed.startsWith(stem)) return null;
  const words = squeezed
    .slice(stem.length)
    .split(/[\s,;]+/)
    .filter((w) => w !== "");
  return words.length > 0 && words.every((w) => /^[0-9A-Fa-f]{1,8}$/.test(w)) ? words : null;
}
