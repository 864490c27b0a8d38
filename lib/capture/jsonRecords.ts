const OPEN = 0x7b;
const CLOSE = 0x7d;
const QUOTE = 0x22;
const BACKSLASH = 0x5c;
const LF = 10;
const CR = 13;

/** Kept from one stretch of bytes to the next. */
export interface JsonState {
  /** An object has ended since the line began: text behind it is between two, or trailing. */
  afterRecord: boolean;
}

/** What a stream of JSON objects is cut into. */
export interface JsonPieces {
  /** A balanced object; false when it cannot be parsed after all, so that a torn one is searched for a whole one inside. */
  record(start: number, end: number): boolean;
  /** Text that is no object: in front of one, between two, or a line of its own. */
  text(start: number, end: number, place: "line" | "before" | "between"): void;
}

/**
 * Cuts bytes into JSON objects: one a line, pretty-printed over several, or back to back without any line end.
 * @param final  no more bytes will come
 * @returns where the first unfinished piece begins
 */
export function cutJson(
  bytes: Uint8Array,
  from: number,
  to: number,
  final: boolean,
  state: JsonState,
  pieces: JsonPieces,
): number {
  let textStart = from;
  let i = from;
  while (i < to) {
    const c = bytes[i]!;
    if (c === LF || c === CR) {
      if (c === CR && i + 1 === to && !final) return textStart;
      if (!state.afterRecord || i > textStart) pieces.text(textStart, i, state.afterRecord ? "between" : "line");
      i += c === CR && bytes[i + 1] === LF && i + 1 < to ? 2 : 1;
      textStart = i;
      state.afterRecord = false;
      continue;
    }
    if (c !== OPEN) {
      i++;
      continue;
    }
    const end = objectEnd(bytes, i, to);
    if (end === UNFINISHED) {
      if (!final) return textStart;
      pieces.text(textStart, to, "between");
      return to;
    }
    if (end < 0) {
      // Torn: all of it up to where another object begins is text.
      i = Math.max(i + 1, -end);
      continue;
    }
    if (i > textStart) pieces.text(textStart, i, state.afterRecord ? "between" : "before");
    if (pieces.record(i, end)) {
      i = end;
      textStart = end;
      state.afterRecord = true;
      continue;
    }
    let inner = end - 1;
    while (inner > i && bytes[inner] !== OPEN) inner--;
    textStart = i;
    i = inner > i ? inner : end;
    state.afterRecord = true;
  }
  if (final && textStart < to) {
    pieces.text(textStart, to, state.afterRecord ? "between" : "line");
    textStart = to;
  }
  return textStart;
}

const UNFINISHED = 0;

/** Where the object that opens at `open` ends; UNFINISHED; or, negative, where a torn one stops making sense. */
function objectEnd(bytes: Uint8Array, open: number, to: number): number {
  let depth = 0;
  let before = 0;
  for (let i = open; i < to; i++) {
    const c = bytes[i]!;
    if (c === QUOTE) {
      for (i++; i < to && bytes[i] !== QUOTE; i++) {
        if (bytes[i] === BACKSLASH) i++;
        else if (bytes[i] === LF) return -i;
      }
      before = QUOTE;
      continue;
    }
    if (c === OPEN) {
      // An object stands at the start, as a value, or in an array: after : [ or a comma.
      if (depth > 0 && before !== 0x3a && before !== 0x5b && before !== 0x2c) return -i;
      depth++;
    } else if (c === CLOSE && --depth === 0) return i + 1;
    if (c > 32) before = c;
  }
  return UNFINISHED;
}

/**
 * A record's rows: keys with their values as text. Arrays give a row an element, single values stand in the first row only.
 * @param spread  arrays whose places are columns of their own, by key
 */
export function jsonRows(value: unknown, spread: ReadonlySet<string> = NONE): Map<string, string>[] {
  const single = new Map<string, string>();
  const lists: [string, unknown[]][] = [];
  gather(value, "", single, lists, spread);
  if (lists.length === 0) return [single];
  const rows: Map<string, string>[] = [];
  const length = Math.max(...lists.map(([, l]) => l.length));
  for (let n = 0; n < length; n++) {
    const row = n === 0 ? new Map(single) : new Map<string, string>();
    for (const [key, list] of lists) {
      const item = list[n];
      if (item === undefined) continue;
      if (item !== null && typeof item === "object")
        for (const sub of jsonRows(item)) for (const [k, v] of sub) row.set(key === "" ? k : `${key}.${k}`, v);
      else row.set(key, scalarText(item));
    }
    rows.push(row);
  }
  return rows.length === 0 ? [single] : rows;
}

const NONE: ReadonlySet<string> = new Set();

function gather(
  value: unknown,
  path: string,
  single: Map<string, string>,
  lists: [string, unknown[]][],
  spread: ReadonlySet<string>,
): void {
  if (Array.isArray(value)) {
    if (spread.has(path)) for (const [i, item] of value.entries()) single.set(`${path}[${i}]`, scalarText(item));
    else lists.push([path, value]);
  } else if (value !== null && typeof value === "object") {
    for (const [key, inner] of Object.entries(value))
      gather(inner, path === "" ? key : `${path}.${key}`, single, lists, spread);
  } else single.set(path === "" ? "value" : path, scalarText(value));
}

function scalarText(value: unknown): string {
  return typeof value === "number" || typeof value === "string" ? String(value) : "";
}
