import { type Document, isAlias, parseDocument, type YAMLSeq } from "yaml";
import type { Bench, CaptureSpec, Stimulus } from "../bench/bench.ts";
import { pathText } from "../bench/plainYaml.ts";
import type { Plan } from "./plan.ts";
import type { CapturePlan } from "./planCapture.ts";

/** A bench file's text with the plan written into it. */
export interface CompletedBench {
  readonly text: string;
  /** What was written, each a line for a person: "captures[0].stimulus.frequency: 997 Hz". */
  readonly changes: readonly string[];
}

/**
 * Writes a plan into its bench file: the coherent frequency, the number of readings, amplitude and offset where the file states none, and captures that the limits need. What the
 * file states stays, its frequency excepted; comments, order and layout stay too. JSON stays JSON.
 * @param text     the bench file as it was read into `bench`
 * @param planned  the bench that was planned: captures of `bench`, and behind them captures that the file does not have yet
 * @param plan     planBench of `planned`
 * @param taken    names of captures whose log exists: they say how it was taken, so they stay untouched
 */
export function completeBench(
  text: string,
  bench: Bench,
  planned: Bench,
  plan: Plan,
  taken: ReadonlySet<string> = new Set(),
): CompletedBench {
  const plainText = text.replace(/^\ufeff/, "");
  const document = parseDocument(plainText, { version: "1.2" });
  const changes: string[] = [];
  const hasList = document.has("captures");
  const planOf = (spec: CaptureSpec): CapturePlan | undefined => plan.captures.find(({ name }) => name === spec.name);
  const set = (path: readonly (string | number)[], value: unknown): void => {
    if (!setUnshared(document, path, value)) return;
    changes.push(`${pathText(path)}: ${String(value)}`);
  };

  bench.captures.forEach((spec, index) => {
    const found = planOf(spec);
    if (found === undefined || spec.stimulus === null) return;
    if (taken.has(spec.name)) {
      changes.push(`${spec.name}: left as it is, its log exists already`);
      return;
    }
    const own = hasList ? ["captures", index] : [];
    // A stimulus at the top level of several captures is one setting for all of them; only a single capture may change it.
    const isShared = hasList && !document.hasIn([...own, "stimulus"]);
    if (!isShared || bench.captures.length === 1)
      for (const [key, value] of Object.entries(settings(spec.stimulus, found)))
        set([...(isShared ? [] : own), "stimulus", key], value);
    if (found.readings !== null && spec.readings !== found.readings) set([...own, "readings"], found.readings);
  });

  const proposed = planned.captures.filter((spec) => !bench.captures.includes(spec));
  if (proposed.length > 0) {
    if (!hasList) document.set("captures", document.createNode([]));
    const list = document.get("captures") as YAMLSeq;
    list.flow = false;
    for (const spec of proposed) {
      const found = planOf(spec);
      if (found === undefined || spec.stimulus === null) continue;
      list.add(document.createNode(newCapture(spec, spec.stimulus, found)));
      changes.push(`captures: added ${spec.name}`);
    }
  }
  if (document.toString() === parseDocument(plainText).toString()) return { text, changes };
  const isJson = /^\s*\{/.test(plainText) && parsesAsJson(plainText);
  return { text: isJson ? `${JSON.stringify(document.toJS(), null, 2)}\n` : inOwnLayout(document, plainText), changes };
}

function newCapture(spec: CaptureSpec, stimulus: Stimulus, found: CapturePlan): Record<string, unknown> {
  return {
    name: spec.name,
    file: spec.file,
    ...(spec.use === null ? {} : { use: spec.use.join() }),
    ...(found.readings === null ? {} : { readings: found.readings }),
    stimulus: { kind: stimulus.kind, ...stated(stimulus), ...settings(stimulus, found) },
  };
}

/**
 * The document's text with every line that only changed its spacing as it was in the file: aligned comments and brackets stay as a person set them. Falls back to the
 * library's own layout where that would change the meaning.
 */
function inOwnLayout(document: Document, text: string): string {
  const squeezed = (line: string): string => line.replace(/\s+/g, "");
  const originals = new Map(text.split("\n").map((line) => [squeezed(line), line]));
  const indent = /^( +)\S/m.exec(text)?.[1]?.length ?? 2;
  const written = document.toString({
    lineWidth: 0,
    indent: Math.min(8, Math.max(1, indent)),
    indentSeq: !/^\S[^\n]*:[ \t]*(#[^\n]*)?\n- /m.test(text),
  });
  const kept = written
    .split("\n")
    .map((line) => originals.get(squeezed(line)) ?? line)
    .join("\n");
  const reread = parseDocument(kept, { version: "1.2" });
  const isSame = reread.errors.length === 0 && JSON.stringify(reread.toJS()) === JSON.stringify(document.toJS());
  return isSame ? kept : written;
}

/** What a plan adds to a stimulus, as it is written in the file. */
function settings(stimulus: Stimulus, planned: CapturePlan): Record<string, string> {
  if (stimulus.kind !== "sine") return {};
  const added: Record<string, string> = {};
  const { tone, overdrive } = planned;
  if (tone !== null && tone.frequency !== stimulus.frequency) added.frequency = `${tone.frequency} Hz`;
  if (overdrive?.isSafe && stimulus.amplitude === null) added.amplitude = `${overdrive.amplitude} V`;
  if (overdrive?.isSafe && stimulus.offset === null) added.offset = `${overdrive.offset} V`;
  return added;
}

function stated(stimulus: Stimulus): Record<string, string> {
  const volts = (value: number | null): string | null => (value === null ? null : `${value} V`);
  const known: Record<string, string | null> =
    stimulus.kind === "sine"
      ? { amplitude: volts(stimulus.amplitude), offset: volts(stimulus.offset) }
      : stimulus.kind === "steady"
        ? { voltage: volts(stimulus.voltage) }
        : {};
  return Object.fromEntries(Object.entries(known).filter((entry): entry is [string, string] => entry[1] !== null));
}

/** Sets a value, but never through an alias: that would change another capture as well. */
function setUnshared(document: Document, path: readonly (string | number)[], value: unknown): boolean {
  for (let depth = 1; depth < path.length; depth++)
    if (isAlias(document.getIn(path.slice(0, depth), true))) return false;
  document.setIn(path, value);
  return true;
}

function parsesAsJson(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
}
