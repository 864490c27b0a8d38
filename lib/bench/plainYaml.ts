import { isAlias, isMap, isScalar, isSeq, LineCounter, type Node, type Pair, parseDocument } from "yaml";
import type { Problem } from "./problem.ts";
import { quote } from "./quantity.ts";

/** A YAML or JSON text as plain values, with the line of every key kept. */
export interface PlainYaml {
  /** Maps are objects without a prototype; an empty value (`key:`) is left out, as if the key were absent. */
  readonly value: unknown;
  readonly problems: readonly Problem[];
  /** The line on which a path ("captures[0].stimulus") stands; the nearest parent's where the path itself is absent. */
  line(path: readonly PropertyKey[]): number | null;
}

/** A bench file of hundreds of captures has some ten thousand values; aliases of aliases reach millions from a few lines. */
const MOST_VALUES = 50_000;
const MOST_CHARACTERS = 500_000;
const DEEPEST = 32;
/** Values of these keys are names and versions: `title: 1.10` means the text "1.10", not the number 1.1. */
const TEXT_KEYS: ReadonlySet<string> = new Set(["title", "name", "file", "delimiter", "decimal"]);

/**
 * Reads YAML 1.2 (of which JSON is a part) into plain values. Anchors, aliases and merge keys (`<<`) work, within bounds.
 * Never throws: whatever is wrong with the text is a problem.
 */
export function readPlainYaml(text: string, file: string): PlainYaml {
  const problems: Problem[] = [];
  const lines = new LineCounter();
  const offsets = new Map<string, number>();
  const report = (code: string, offset: number | null, path: readonly PropertyKey[], found: string, expected: string) =>
    problems.push({
      code,
      file,
      line: offset === null ? null : lines.linePos(offset).line || 1,
      key: path.length === 0 ? null : pathText(path),
      found,
      expected,
    });
  const result = (value: unknown): PlainYaml => ({
    value,
    problems,
    line: (path) => {
      for (let length = path.length; length > 0; length--) {
        const offset = offsets.get(pathText(path.slice(0, length)));
        if (offset !== undefined) return lines.linePos(offset).line;
      }
      return null;
    },
  });

  if (text.length > MOST_CHARACTERS) {
    report("too-large", null, [], `the file has ${text.length} characters`, "a bench file, not a log");
    return result(undefined);
  }
  if (/[\u0000-\u0008\u000e-\u001f]/.test(text)) {
    report("not-text", null, [], "the file holds control characters", "a bench file in YAML or JSON, not a log");
    return result(undefined);
  }

  let document: ReturnType<typeof parseDocument>;
  try {
    document = parseDocument(text.replace(/^\ufeff/, ""), {
      lineCounter: lines,
      prettyErrors: false,
      version: "1.2",
      uniqueKeys: false,
    });
  } catch {
    // The parser recurses; only nesting thousands deep exhausts the stack.
    report("yaml-syntax", null, [], "the file is nested too deeply to be read", "a bench file in YAML or JSON");
    return result(undefined);
  }
  for (const error of document.errors) {
    const { found, expected } = syntaxWords(error.code, error.message);
    report("yaml-syntax", error.pos[0], [], found, expected);
  }
  if (document.errors.length > 0) return result(undefined);

  let left = MOST_VALUES;
  const visit = (node: unknown, path: readonly PropertyKey[], depth: number): unknown => {
    left -= 1;
    if (left < 0) return undefined;
    const offset = (node as Node | null)?.range?.[0] ?? null;
    if (depth > DEEPEST) {
      report("too-large", offset, path, "is nested too deeply", "the keys of a bench file");
      return undefined;
    }
    if (isAlias(node)) {
      const target = node.resolve(document);
      if (target === undefined) {
        report("yaml-syntax", offset, path, `the alias *${node.source} has no anchor`, `&${node.source} above it`);
        return undefined;
      }
      return visit(target, path, depth + 1);
    }
    if (isSeq(node))
      return node.items.map((item, index) => {
        const at = (item as Node | null)?.range?.[0];
        const inner = [...path, index];
        if (at !== undefined) offsets.set(pathText(inner), at);
        return visit(item, inner, depth + 1);
      });
    if (isMap(node)) {
      const map: Record<string, unknown> = Object.create(null);
      const given = new Set<string>();
      for (const pair of node.items) enter(map, given, pair, path, depth);
      return map;
    }
    return isScalar(node) ? plainScalar(node, path) : undefined;
  };
  const enter = (
    map: Record<string, unknown>,
    given: Set<string>,
    pair: Pair,
    path: readonly PropertyKey[],
    depth: number,
  ): void => {
    const key = isScalar(pair.key) ? String(isTextual(pair.key) ? pair.key.value : (pair.key.source ?? "")) : null;
    const offset = (pair.key as Node | null)?.range?.[0] ?? null;
    if (key === null || key === "") {
      report("unknown-key", offset, path, "a key that is no text", "a key of the bench file");
      return;
    }
    if (key === "__proto__") {
      report("unknown-key", offset, [...path, key], "unknown key", "a key of the bench file");
      return;
    }
    if (key === "<<") {
      const merged = visit(pair.value, path, depth + 1);
      for (const source of Array.isArray(merged) ? merged : [merged])
        if (typeof source === "object" && source !== null)
          for (const [name, value] of Object.entries(source)) if (!Object.hasOwn(map, name)) map[name] = value;
      return;
    }
    const inner = [...path, key];
    // The parser's own check compares every pair of keys, which takes seconds where a log was given for a bench file.
    if (given.has(key)) {
      report("duplicate-key", offset, inner, "this key is given twice in the same map", "each key once");
      return;
    }
    given.add(key);
    if (offset !== null) offsets.set(pathText(inner), offset);
    const value = visit(pair.value, inner, depth + 1);
    if (value === null || value === undefined) delete map[key];
    else map[key] = value;
  };
  const value = visit(document.contents, [], 0);
  if (left < 0) {
    report("too-large", null, [], `aliases make more than ${MOST_VALUES} values`, "a bench file");
    return result(undefined);
  }
  return result(value);
}

/** "captures[0].stimulus.frequency" */
export function pathText(path: readonly PropertyKey[]): string {
  let text = "";
  for (const step of path)
    text += typeof step === "number" ? `[${step}]` : text === "" ? String(step) : `.${String(step)}`;
  return text;
}

function isTextual(node: { value: unknown; source?: string }): boolean {
  return typeof node.value === "string";
}

function plainScalar(node: { value: unknown; source?: string }, path: readonly PropertyKey[]): unknown {
  const { value, source } = node;
  if (typeof value === "bigint") return Number(value);
  const key = path.at(-1);
  const isText = path.at(-2) === "conditions" || (typeof key === "string" && TEXT_KEYS.has(key));
  return isText && value !== null && typeof value !== "string" ? (source ?? String(value)) : value;
}

function syntaxWords(code: string, message: string): { found: string; expected: string } {
  switch (code) {
    case "TAB_AS_INDENT":
      return { found: "a tab is used for indentation", expected: "spaces, as YAML asks" };
    case "MULTIPLE_DOCS":
      return { found: "the file holds more than one document", expected: "one bench file, without a second ---" };
    case "BAD_INDENT":
      if (/flow/i.test(message)) return { found: "a { or [ above is not closed", expected: "its closing } or ]" };
      return {
        found: "the indentation does not fit the lines around it",
        expected: "the same indentation for all keys of a map",
      };
    default: {
      if (/call stack/i.test(message)) return { found: "nested too deeply to be read", expected: "YAML or JSON" };
      const first = (message.split("\n")[0] ?? "").replace(/\.$/, "");
      return { found: `not readable as YAML: ${quote(first).slice(1, -1)}`, expected: "YAML or JSON" };
    }
  }
}
