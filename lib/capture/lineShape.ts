import type { NamedUnit } from "./columnName.ts";

/** A number (or clock time) in a line of terminal text. */
export interface Slot {
  readonly kind: "number" | "clock";
  /** As it stands in the line, unit included: whether the A of 02A is a digit is decided by the whole column. */
  readonly text: string;
  /** The number without its unit, and the unit; null where nothing follows it. */
  readonly bare: string;
  readonly suffix: string | null;
  /** The key it is the value of (`ADC0 = 2047`), or the word before it. */
  readonly name: string;
  readonly keyed: boolean;
  readonly unit: NamedUnit;
  /** Place of `bare` in the line. */
  readonly start: number;
  readonly end: number;
}

/** What a line of terminal text looks like once its numbers are taken out: lines of one shape come from one print statement. */
export interface LineShape {
  readonly id: string;
  readonly slots: readonly Slot[];
}

const DATE = String.raw`\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.]\d{4}`;
const CLOCK = String.raw`\d{1,2}:\d{2}:\d{2}(?:[.,]\d{1,9}(?:,\d{3})?)?(?:Z|[+-]\d{2}:?\d{2})?`;
const MONTH = String.raw`(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]* +\d{1,2}(?: +\d{4})?`;
const STAMP = String.raw`(?<![\w:.])(?:(?:${DATE}|${MONTH})[T _,]+)?${CLOCK}(?![\w.]|:\d)`;
const ADDRESS = String.raw`(?<![\w:])(?:[0-9A-Fa-f]{2}:){3,}[0-9A-Fa-f]{2}(?![\w:])`;
// ch[0] and ADC(1) are names; so is logger[412] before a colon.
const INDEXED = String.raw`[A-Za-z_]\w*(?:\[\d{1,2}\]|[\[(]\d{1,6}[\])](?=\s*[:=]))`;
const CHUNK = String.raw`[^\s=:,;|()[\]{}<>"'\x60/\\*!?#@&~^]+`;
const TOKEN = new RegExp(`(?<stamp>${STAMP})|(?<address>${ADDRESS})|(?<indexed>${INDEXED})|(?<chunk>${CHUNK})`, "g");

const TOKEN_BESIDE_INDEX = new RegExp(
  `(?<stamp>${STAMP})|(?<address>${ADDRESS})|(?<indexed>(?!))|(?<chunk>${CHUNK})`,
  "g",
);

const WHOLE = /^[+-]?\d+$/;
const REAL = /^[+-]?(?:\d+\.\d*|\.\d+|\d+)(?:[eE][+-]?\d{1,3})?$/;
const MARKED = /^[+-]?(?:0[xX][0-9A-Fa-f]+|0[bB][01]+|0[oO][0-7]+|\$[0-9A-Fa-f]+)$/;
const WITH_UNIT = /^([+-]?\d+(?:\.\d+)?)(mV|uV|µV|V|us|µs|ms|s|ns|C|°C|%|Hz|kHz|MHz|LSB|lsb|mA|A|dB)$/;
const HEX = /^[0-9A-Fa-f]{2,8}[hH]?$/;
const CHANNEL_WORD = /^(?:adc|ch|chan|channel|ain|an|analog|input|pin|sensor|port|mux|kanal|canal|probe|in|x)$/i;

interface Token {
  text: string;
  start: number;
  end: number;
  slot: "number" | "clock" | null;
  unit: NamedUnit;
  plain: boolean;
}

/**
 * Takes a line apart. Keys with values in any order give one shape (`a=1 b=2` and `b=2 a=1`); otherwise the text between the numbers is the shape.
 * Version numbers (1.2.3), network and bus addresses, words with digits in them (ADC0, 3V3) are text.
 * @param indexIsNumber  in `buf[17] = 5` the 17 counts readings instead of naming a channel
 */
export function lineShape(line: string, indexIsNumber = false): LineShape {
  const tokens = tokenise(line, indexIsNumber);
  const slots: Slot[] = [];
  const slotTokens: Token[] = [];
  for (let i = 0; i < tokens.length; i++) {
    const token = tokens[i]!;
    if (token.slot === null) continue;
    const { name, keyed, uses } = nameOf(line, tokens, i, indexIsNumber);
    // `ch[0] = 5`, `ADC 0: 5`: the number is part of the name.
    for (const used of uses) {
      const at = slotTokens.indexOf(used);
      if (at >= 0) {
        slotTokens.splice(at, 1);
        slots.splice(at, 1);
        used.slot = null;
      }
    }
    const withUnit = WITH_UNIT.exec(token.text);
    slots.push({
      kind: token.slot,
      text: token.text,
      bare: withUnit?.[1] ?? token.text,
      suffix: withUnit?.[2] ?? null,
      name,
      keyed,
      unit: token.unit,
      start: token.start,
      end: token.start + (withUnit?.[1] ?? token.text).length,
    });
    slotTokens.push(token);
  }
  const firstKeyed = slots.findIndex((s) => s.keyed);
  if (firstKeyed >= 0 && slots.slice(firstKeyed).every((s) => s.keyed || s.kind === "clock")) {
    return pairShape(line, tokens, slots, slotTokens, firstKeyed);
  }
  let skeleton = "";
  let at = 0;
  for (const t of slotTokens) {
    skeleton += `${line.slice(at, t.start)}${t.slot === "clock" ? "\u0002" : "\u0001"}${t.unit ?? ""}`;
    at = t.end;
  }
  // A bar drawn behind the number, `2047 *****`, is as long as the number is large.
  skeleton += line.slice(at).replace(/\s+([*#=>|+█▇▓▒░■])\1*$/u, "");
  return { id: skeleton.replace(/\s+/g, " ").replace(/ ?([\u0001\u0002]) ?/g, "$1"), slots };
}

/** The keys, sorted, and what stands between and behind the pairs; what stands before the first key may be anything (a log level, a task's name). */
function pairShape(
  line: string,
  tokens: readonly Token[],
  slots: readonly Slot[],
  slotTokens: readonly Token[],
  first: number,
): LineShape {
  const glue = new Set<string>();
  for (let s = first; s < slots.length; s++) {
    const from = slotTokens[s]!.end;
    const to = s + 1 < slots.length ? keyStart(line, tokens, slotTokens[s + 1]!, slots[s + 1]!) : line.length;
    const between = line
      .slice(from, to)
      .replace(/\s+([*#=>|+█▇▓▒░■])\1*$/u, "")
      .replace(/[\s,;|]+/g, " ")
      .trim();
    if (between !== "") glue.add(between);
  }
  const keys = slots
    .slice(first)
    .map((s) => s.name)
    .sort();
  return { id: `\u0003${keys.join(",")}~${[...glue].sort().join("~")}`, slots };
}

function keyStart(line: string, tokens: readonly Token[], slot: Token, named: Slot): number {
  const at = line.lastIndexOf(named.name, slot.start);
  if (at >= 0) return at;
  const i = tokens.indexOf(slot);
  return i > 0 ? tokens[i - 1]!.start : slot.start;
}

function tokenise(line: string, indexIsNumber: boolean): Token[] {
  const tokens: Token[] = [];
  for (const m of line.matchAll(indexIsNumber ? TOKEN_BESIDE_INDEX : TOKEN)) {
    let text = m[0];
    const start = m.index;
    if (m.groups!.stamp !== undefined) {
      tokens.push({ text, start, end: start + text.length, slot: "clock", unit: null, plain: false });
      continue;
    }
    if (m.groups!.address !== undefined || m.groups!.indexed !== undefined) {
      tokens.push({ text, start, end: start + text.length, slot: null, unit: null, plain: false });
      continue;
    }
    // A full stop behind a number ends the sentence.
    if (/\d\.$/.test(text) && !/\d\.$/.test(line.slice(0, start + text.length + 1).trimEnd()) === false)
      text = text.replace(/(\d)\.$/, "$1");
    const unit = WITH_UNIT.exec(text);
    const isValue = /[=:]\s*$/.test(line.slice(0, start));
    const isName = !isValue && /^\$?adc/i.test(text);
    const isNumber = !isName && (WHOLE.test(text) || REAL.test(text) || MARKED.test(text) || unit !== null);
    const isChecksum = line[start - 1] === "*" && start + text.length === line.length && /^[0-9A-Fa-f]{2}$/.test(text);
    // A value of letters alone, `adc=FACE`, is a number where the column is hexadecimal; whether it is, the column decides.
    // In `logger[412]: adc=5` the word is itself a key.
    const isWordValue =
      isValue && /^(?:[A-F]{2,8}|[a-f]{2,8})$/.test(text) && !/^\s*[=:]/.test(line.slice(start + text.length));
    const isHex =
      isChecksum ||
      isWordValue ||
      (!isNumber && !isName && HEX.test(text) && /\d/.test(text) && (isValue || !/^(?:ch)?[a-f]?\d{1,2}$/i.test(text)));
    // `t = 20 ms`: the unit stands apart.
    const apart =
      isNumber && unit === null
        ? /^[ \t]+(ms|us|µs|ns|s|mV|V|uV|µV)(?![\w=:])/.exec(line.slice(start + text.length))
        : null;
    tokens.push({
      text,
      start,
      end: start + text.length,
      slot: isNumber || isHex ? "number" : null,
      unit: unit !== null ? unitOf(unit[2]!) : apart !== null ? unitOf(apart[1]!) : null,
      plain: WHOLE.test(text),
    });
  }
  return tokens;
}

function unitOf(text: string): NamedUnit {
  switch (text) {
    case "s":
    case "ms":
    case "ns":
    case "V":
    case "mV":
      return text;
    case "us":
    case "µs":
      return "us";
    case "uV":
    case "µV":
      return "uV";
    default:
      return null;
  }
}

/** The key of a value, or the word before it. `uses` are number tokens that turned out to be part of the name. */
function nameOf(
  line: string,
  tokens: readonly Token[],
  i: number,
  indexIsNumber: boolean,
): { name: string; keyed: boolean; uses: Token[] } {
  const token = tokens[i]!;
  const before = tokens[i - 1];
  if (before === undefined || token.slot === "clock") return { name: "", keyed: false, uses: [] };
  const gap = line.slice(before.end, token.start);
  if (gap === "*" && token.end === line.length) return { name: "checksum", keyed: false, uses: [] };
  const isKey = /^["')\]]*\s*(?:=|:|:=|=>|=\s*>)\s*["'#([]?$/.test(gap) && /[=:]/.test(gap);
  const word = indexIsNumber ? undefined : tokens[i - 2];
  if (
    before.plain &&
    word !== undefined &&
    word.slot === null &&
    CHANNEL_WORD.test(word.text) &&
    before.text.length <= 2
  ) {
    const link = line.slice(word.end, before.start);
    if (isKey && /^\s*[[(]?#?$/.test(link)) {
      const close = /^[\])]/.exec(gap)?.[0] ?? "";
      return {
        name: `${word.text}${link.replace("#", "").replace(/\s+/g, " ")}${before.text}${close}`.trim(),
        keyed: true,
        uses: [before],
      };
    }
  }
  if (before.slot !== null) return { name: "", keyed: false, uses: [] };
  if (!/[\p{L}_$]/u.test(before.text)) return { name: "", keyed: false, uses: [] };
  if (isKey) return { name: before.text, keyed: true, uses: [] };
  return { name: /^[\s<>\-→#]*$/.test(gap) ? before.text : "", keyed: false, uses: [] };
}
