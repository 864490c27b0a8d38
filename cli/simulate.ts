import { readFileSync } from "node:fs";
import { basename, isAbsolute, join, normalize, relative } from "node:path";
import { gunzipSync, gzipSync } from "node:zlib";
import { Command, InvalidArgumentError } from "commander";
import type { Bench } from "../lib/bench/bench.ts";
import { type Problem, ProblemError } from "../lib/bench/problem.ts";
import { FAULTS, type PlantedFault, readFault } from "../lib/simulate/faults.ts";
import { type SimulatedLog, simulateSession } from "../lib/simulate/simulateSession.ts";
import { DIALECTS, type DialectName, SIMULATED_MARK } from "../lib/simulate/writeLog.ts";
import type { Io } from "./io.ts";

export interface SimulateArguments {
  readonly out: string;
  readonly fault: readonly string[];
  readonly dialect?: string;
  readonly seed: number;
  readonly readings?: number;
  readonly json?: string;
  readonly force?: boolean;
  readonly quiet?: boolean;
}

/** Simulates a bench file's captures and writes their logs, and the truth beside them. */
export async function runSimulate(benchPath: string, options: SimulateArguments, io: Io): Promise<void> {
  const { loadBench } = await import("./loadBench.ts");
  const { writeWhole } = await import("./writeWhole.ts");
  const bench = loadBench(benchPath);
  const faults = plantedFaults(bench, benchPath, options);
  const unapplied = bench.captures.filter((c) => c.stimulus === null);
  if (unapplied.length > 0)
    throw new ProblemError(
      unapplied.map((c) => usage(`captures.${c.name}`, "has no stimulus", "a stimulus to simulate", benchPath)),
    );
  const { logs, truth } = simulateSession(bench, {
    seed: options.seed,
    readings: options.readings ?? null,
    dialect: (options.dialect as DialectName | undefined) ?? null,
    faults,
  });
  const places = logs.map((log) => ({ log, path: join(options.out, placeIn(log.file)) }));
  if (!options.force) refuseMeasured(places.map((p) => p.path));
  for (const { log, path } of places) await writeWhole(path, path.endsWith(".gz") ? gzipSync(log.text) : log.text);
  const truthPath = join(options.out, `${basename(benchPath).replace(/\.(ya?ml|json)$/i, "")}.truth.json`);
  await writeWhole(truthPath, `${JSON.stringify(truth, null, 1)}\n`);
  if (options.json !== undefined) {
    const summary = `${JSON.stringify(withoutTransitions(truth), null, 2)}\n`;
    if (options.json === "-") io.out(summary);
    else await writeWhole(options.json, summary);
  }
  if (options.quiet || options.json === "-") return;
  for (const { log, path } of places) io.out(describe(log, path));
  io.out(`truth: ${truthPath}\nAll of it is simulated; no hardware was measured.\n`);
}

function plantedFaults(
  bench: Bench,
  benchPath: string,
  options: SimulateArguments,
): { capture: string | null; fault: PlantedFault }[] {
  const problems: Problem[] = [];
  const names = bench.captures.map((c) => c.name);
  const planted = options.fault.flatMap((text) => {
    const slash = text.indexOf("/");
    const capture = slash < 0 ? null : text.slice(0, slash);
    if (capture !== null && !names.includes(capture))
      problems.push(
        usage("--fault", `"${text}" names no capture of the bench file`, `one of ${names.join(", ")}`, benchPath),
      );
    const fault = readFault(text.slice(slash + 1));
    if (typeof fault === "string") {
      problems.push(usage("--fault", fault, "", null));
      return [];
    }
    return [{ capture, fault }];
  });
  if (options.dialect !== undefined && !Object.hasOwn(DIALECTS, options.dialect))
    problems.push(
      usage("--dialect", `"${options.dialect}" is not a dialect`, `one of ${Object.keys(DIALECTS).join(", ")}`, null),
    );
  if (problems.length > 0) throw new ProblemError(problems);
  return planted;
}

function usage(key: string, found: string, expected: string, file: string | null): Problem {
  return { code: "usage", file, line: null, key, found, expected };
}

/** The bench file's path for a log, kept inside the output folder. */
function placeIn(file: string): string {
  const path = normalize(file);
  return isAbsolute(path) || path.startsWith("..") || path === "-"
    ? `${basename(path).replace(/^-$/, "capture")}`
    : path;
}

/** A log that is there already and is not a simulated one may be somebody's measurement. */
function refuseMeasured(paths: readonly string[]): void {
  const problems: Problem[] = [];
  for (const path of paths) {
    let bytes: Buffer;
    try {
      bytes = readFileSync(path);
    } catch {
      continue;
    }
    let text = "";
    try {
      text = (path.endsWith(".gz") ? gunzipSync(bytes) : bytes.subarray(0, 400)).subarray(0, 400).toString("latin1");
    } catch {
      // Not gzip after all: then it is not one of ours.
    }
    if (!text.includes(SIMULATED_MARK))
      problems.push({
        ...usage(
          "--out",
          "is there already and does not look simulated",
          "another folder, so that no measured log is overwritten",
          path,
        ),
        next: "Use --force to overwrite it all the same",
      });
  }
  if (problems.length > 0) throw new ProblemError(problems);
}

function describe(log: SimulatedLog, path: string): string {
  const { benchKeys, sentence } = DIALECTS[log.dialect];
  const lines = [`${relative("", path) || path}: ${sentence}${benchKeys === "" ? "" : ` (bench file: ${benchKeys})`}`];
  for (const { spec, codes, truth } of log.captures) {
    lines.push(
      `  ${spec.name}: ${truth.stimulus.kind}, ${codes.length} readings at ${+truth.rate.toPrecision(6)} Hz, noise ${truth.noise} LSB`,
    );
    for (const { fault, where } of truth.planted) {
      const { unit, sentence: what, finding } = FAULTS[fault.name];
      const at =
        where.length === 1 && where[0]![0] === 0
          ? ""
          : `, at reading ${where
              .map(([a, b]) => (a === b ? a : `${a}–${b}`))
              .slice(0, 6)
              .join(", ")}${where.length > 6 ? ", …" : ""}`;
      lines.push(
        `    ${fault.name} ${fault.size}${unit ? ` ${unit.replace(/\[.*\]/, "")}` : ""}: ${what}${at}${finding ? ` → ${finding}` : ""}`,
      );
    }
  }
  return `${lines.join("\n")}\n`;
}

function withoutTransitions(truth: Record<string, unknown>): Record<string, unknown> {
  const converters = (truth.converters as Record<string, unknown>[]).map(({ transitions: _, ...rest }) => rest);
  return { ...truth, converters };
}

function list(io: Io): void {
  const width = Math.max(...Object.keys(FAULTS).map((n) => n.length));
  io.out("Faults, with a moderate size:\n");
  for (const [name, { unit, usual, sentence }] of Object.entries(FAULTS))
    io.out(`  ${name.padEnd(width)}  ${`${usual}${unit ? ` ${unit}` : ""}`.padEnd(20)}  ${sentence}\n`);
  io.out("\nDialects:\n");
  for (const [name, { sentence }] of Object.entries(DIALECTS)) io.out(`  ${name.padEnd(width)}  ${sentence}\n`);
}

const whole =
  (least: number) =>
  (text: string): number => {
    const value = Number(text);
    if (!Number.isInteger(value) || value < least || value > 1e8)
      throw new InvalidArgumentError(`expected a whole number from ${least} to 1e8.`);
    return value;
  };

export function command(io: Io): Command {
  return new Command("simulate")
    .argument("[bench]", "bench file (YAML or JSON)")
    .option("--out <folder>", "where the logs and the truth go", "simulated")
    .option(
      "--fault <name=size>",
      "plant a fault (repeat for more; CAPTURE/NAME=SIZE for one capture)",
      (text: string, all: string[]) => [...all, text],
      [],
    )
    .option("--dialect <name>", "how the log is written (default: what the bench file's keys fit)")
    .option("--seed <n>", "same seed, same bytes", whole(0), 1)
    .option("--readings <n>", "readings of each capture", whole(2))
    .option("--json <file>", "write what was planted as JSON; - is standard output")
    .option("--force", "overwrite logs that do not look simulated")
    .option("--list", "the faults and dialects, then stop")
    .option("-q, --quiet", "say nothing")
    .addHelpText(
      "after",
      "\nExample:\n  codestair simulate bench.yaml --out practice --fault lost=3 --fault noise=0.5 --seed 7\n  codestair score bench.yaml practice/tone.csv",
    )
    .action(async (bench: string | undefined, options: SimulateArguments & { list?: boolean }) => {
      if (options.list) return list(io);
      if (bench === undefined)
        throw new ProblemError([
          usage("bench", "no bench file is named", "codestair simulate BENCH --out FOLDER, or --list", null),
        ]);
      await runSimulate(bench, options, io);
    });
}
