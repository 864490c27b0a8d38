import { type Document, isAlias, isCollection, parseDocument, type YAMLSeq } from "yaml";
import type { Bench } from "../bench/bench.ts";
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
 * file states stays, its frequency excepted; comments and order stay too. JSON stays JSON.
 * @param text     the bench file as it was read into `bench`
 * @param planned  the bench that was planned: captures of `bench`, and behind them captures that the file does not have yet
 * @param plan     planBench of `planned`
 */
export function completeBench(text: string, bench: Bench, planned: Bench, plan: Plan): CompletedBench {
  const isJson = /^\s*\{/.test(text) && parsesAsJson(text);
  const document = parseDocument(text.replace(/^\ufeff/, ""), { version: "1.2" });
  const changes: string[] = [];
  const proposed = planned.captures.filter((spec) => !bench.captures.includes(spec));
  const hasList = document.has("captures");
  const set = (path: readonly (string | number)[], value: unknown): void => {
    if (!setThrough(document, path, value)) return;
    changes.push(
      `${path
        .map((step) => (typeof step === "number" ? `[${step}]` : `.${step}`))
        .join("")
        .slice(1)}: ${String(value)}`,
    );
  };

  bench.captures.forEach((spec, index) => {
    const found = plan.captures.find((capture) => capture.name === spec.name);
    if (found === undefined || spec.stimulus === null) return;
    const base = hasList ? ["captures", index] : [];
    // A stimulus that stands at the top level for all captures is one setting; writing it per capture would hide that.
    const shared = hasList && !document.hasIn([...base, "stimulus"]);
    if (shared && bench.captures.length > 1) return;
    const at = shared ? [] : base;
    for (const [key, value] of Object.entries(fields(spec.stimulus, found))) set([...at, "stimulus", key], value);
    if (found.readings !== null && spec.readings !== found.readings) set([...base, "readings"], found.readings);
  });

  if (proposed.length > 0) {
    if (!hasList) document.set("captures", document.createNode([]));
    const list = document.get("captures") as YAMLSeq;
    for (const spec of proposed) {
      const found = plan.captures.find((capture) => capture.name === spec.name);
      if (found === undefined || spec.stimulus === null) continue;
      const entry = document.createNode({
        name: spec.name,
        file: spec.file,
        ...(spec.use === null ? {} : { use: spec.use }),
        ...(found.readings === null ? {} : { readings: found.readings }),
        stimulus: { kind: spec.stimulus.kind, ...stated(spec.stimulus), ...fields(spec.stimulus, found) },
      });
      if (isCollection(entry)) entry.flow = false;
      list.add(entry);
      changes.push(`captures: added ${spec.name}`);
    }
    list.flow = false;
  }
  if (changes.length === 0) return { text, changes };
  const written = isJson ? `${JSON.stringify(document.toJS(), null, 2)}\n` : document.toString({ lineWidth: 0 });
  return { text: written, changes };
}

type StatedStimulus = NonNullable<Bench["captures"][number]["stimulus"]>;

/** What a plan adds to a stimulus, as it is written in the file. */
function fields(stimulus: StatedStimulus, planned: CapturePlan): Record<string, string> {
  if (stimulus.kind !== "sine") return {};
  const added: Record<string, string> = {};
  const { tone, overdrive } = planned;
  if (tone !== null && tone.frequency !== stimulus.frequency) added.frequency = `${tone.frequency} Hz`;
  if (overdrive?.isSafe && stimulus.amplitude === null) added.amplitude = `${overdrive.amplitude} V`;
  if (overdrive?.isSafe && stimulus.offset === null) added.offset = `${overdrive.offset} V`;
  return added;
}

function stated(stimulus: StatedStimulus): Record<string, string> {
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
function setThrough(document: Document, path: readonly (string | number)[], value: unknown): boolean {
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
