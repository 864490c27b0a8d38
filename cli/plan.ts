import { Command, InvalidArgumentError } from "commander";
import type { Bench, CaptureSpec } from "../lib/bench/bench.ts";
import type { Dimension } from "../lib/bench/dimensions.ts";
import { ProblemError } from "../lib/bench/problem.ts";
import { parseQuantity, quote } from "../lib/bench/quantity.ts";
import { EXIT, type Io } from "./io.ts";

export interface PlanArguments {
  readonly at?: string;
  readonly result?: string;
  readonly capture?: string;
  readonly readings?: number;
  readonly prime?: boolean;
  readonly tolerance?: number;
  readonly confidence?: number;
  readonly noise?: number;
  readonly write?: string | true;
  readonly json?: string;
  readonly quiet?: boolean;
}

/** Plans the captures of a bench file, or answers what one voltage or code is. */
export async function runPlan(benchPath: string, options: PlanArguments, io: Io): Promise<void> {
  const { readText } = await import("./readText.ts");
  const { readBench } = await import("../lib/bench/readBench.ts");
  const text = readText(benchPath, "a bench file");
  const { bench, problems } = readBench(text, benchPath);
  if (bench === null) throw new ProblemError(problems);
  if (options.at === undefined) {
    if (options.result !== undefined) throw usage("--result", "is used with --at only", "--at VOLTAGE or --at CODE");
    await runWholePlan(benchPath, text, bench, options, io);
  } else await runThreshold(bench, options.at, options, io);
}

async function runWholePlan(
  benchPath: string,
  text: string,
  bench: Bench,
  options: PlanArguments,
  io: Io,
): Promise<void> {
  const { planBench } = await import("../lib/plan/plan.ts");
  const { renderPlanText } = await import("../reports/planText.ts");
  const { proposeCaptures } = await import("../lib/plan/proposeCaptures.ts");
  const only = options.capture === undefined ? null : namedCapture(bench, options.capture).name;
  const asked = {
    readings: options.readings ?? null,
    prime: options.prime ?? false,
    tolerance: options.tolerance ?? null,
    noise: options.noise ?? null,
    only,
    ...(options.confidence === undefined ? {} : { confidence: options.confidence }),
  };
  // With --write the captures that the limits need are planned as if they stood in the file already.
  const proposed = options.write === undefined || only !== null ? [] : proposeCaptures(bench);
  const isBare = proposed.length > 0 && bench.captures.every((c) => c.stimulus === null && c.file === null);
  const planned: Bench = { ...bench, captures: [...(isBare ? [] : bench.captures), ...proposed] };
  const plan = planBench(planned, asked);
  if (plan.state === "trouble") io.status = EXIT.fail;
  else if (plan.state === "undecidable") io.status = EXIT.undecided;
  await output(options, io, `${JSON.stringify(plan, null, 2)}\n`, renderPlanText(plan, io.columns));
  if (options.write === undefined) return;

  const { completeBench } = await import("../lib/plan/completeBench.ts");
  const { readBench } = await import("../lib/bench/readBench.ts");
  const { writeWhole } = await import("./writeWhole.ts");
  const place = options.write === true ? benchPath : options.write;
  const completed = completeBench(text, bench, planned, plan, await takenCaptures(bench, benchPath));
  const { problems } = readBench(completed.text, place);
  if (problems.length > 0) throw new ProblemError(problems);
  if (completed.changes.length > 0 || place !== benchPath) await writeWhole(place, completed.text);
  if (options.quiet || options.json === "-") return;
  const changes =
    completed.changes.length === 0 ? "  nothing to add" : completed.changes.map((c) => `  ${c}`).join("\n");
  io.out(`\nWritten to ${place}:\n${changes}\n`);
}

/** Captures whose log lies there already: what the file says of them is how they were taken. */
async function takenCaptures(bench: Bench, benchPath: string): Promise<Set<string>> {
  const { existsSync } = await import("node:fs");
  const { dirname, resolve } = await import("node:path");
  const taken = bench.captures.filter(({ file }) => file !== null && existsSync(resolve(dirname(benchPath), file)));
  return new Set(taken.map(({ name }) => name));
}

async function runThreshold(bench: Bench, at: string, options: PlanArguments, io: Io): Promise<void> {
  const { thresholdReport } = await import("../lib/plan/thresholdReport.ts");
  const { renderThresholdText } = await import("../reports/thresholdText.ts");
  const { scaleOf } = await import("../lib/bench/scale.ts");
  const named = options.capture === undefined ? null : bench.captures.find((c) => c.name === options.capture);
  const spec = named ?? { converter: bench.converter, frontEnd: bench.frontEnd };
  const asked = askedFor(at, scaleOf(spec.converter).topCode);
  const result =
    options.result === undefined
      ? null
      : await (await import("./loadResult.ts")).loadResult(options.result, io, options.quiet ? { quiet: true } : {});
  const inResult = result?.captures.some((c) => c.name === options.capture) ?? false;
  if (options.capture !== undefined && named === undefined && !inResult) namedCapture(bench, options.capture);
  const report = thresholdReport(bench, spec, asked, result, inResult ? (options.capture ?? null) : null);
  await output(options, io, `${JSON.stringify(report, null, 2)}\n`, renderThresholdText(report, io.columns));
}

async function output(options: PlanArguments, io: Io, json: string, text: string): Promise<void> {
  if (options.json === "-") io.out(json);
  else if (options.json !== undefined) await (await import("./writeWhole.ts")).writeWhole(options.json, json);
  if (!options.quiet && options.json !== "-") io.out(text);
}

function namedCapture(bench: Bench, name: string): CaptureSpec {
  const spec = bench.captures.find((c) => c.name === name);
  if (spec) return spec;
  throw usage(
    "--capture",
    `no capture is named ${quote(name)}`,
    `one of ${bench.captures.map((c) => c.name).join(", ")}`,
  );
}

/** "1.8 V" is a voltage; "2234" and "0x8ba" are codes; "1.8" could be meant as either, so it is refused. */
function askedFor(at: string, topCode: number): { kind: "volts" | "code"; value: number } {
  const trimmed = at.trim();
  const code = /^(\d+|0x[\da-f]+|0b[01]+)$/i.test(trimmed) ? Number(trimmed) : null;
  if (code !== null) {
    if (code <= topCode) return { kind: "code", value: code };
    throw usage(
      "--at",
      `code ${code} is beyond the top code`,
      `a code from 0 to ${topCode}, or a voltage with its unit`,
    );
  }
  const reading = parseQuantity(trimmed, "voltage");
  if (!reading.ok) throw usage("--at", reading.found, 'a voltage such as "1.8 V", or a code such as 2234');
  if (reading.bare)
    throw usage("--at", `${quote(at)} has no unit`, `"${trimmed} V" for a voltage, or a whole number for a code`);
  return { kind: "volts", value: reading.value };
}

function usage(key: string, found: string, expected: string): ProblemError {
  return new ProblemError([{ code: "usage", file: null, line: null, key, found, expected }]);
}

/** An option that is a quantity, within bounds. */
function quantityOption(dimension: Dimension, least: number, most: number, example: string) {
  return (text: string): number => {
    const reading = parseQuantity(text, dimension);
    if (!reading.ok) throw new InvalidArgumentError(`${reading.found}; expected ${example}.`);
    if (reading.value < least || reading.value > most) throw new InvalidArgumentError(`Expected ${example}.`);
    return reading.value;
  };
}

export function command(io: Io): Command {
  return new Command("plan")
    .argument("<BENCH>", "the bench file")
    .option("--at <VALUE>", 'what a voltage ("1.8 V") is as a code, or a code (2234) as a voltage')
    .option("--result <FILE>", "with --at: where the converter of this result really trips")
    .option("--capture <NAME>", "plan this capture alone; with --at: its converter setting")
    .option("--readings <COUNT>", "readings of each record", (text) => {
      const count = quantityOption("count", 2, 2 ** 31 - 1, "a whole number of readings from 2")(text);
      if (!Number.isInteger(count)) throw new InvalidArgumentError("Expected a whole number of readings.");
      return count;
    })
    .option("--prime", "a prime number of cycles, not only one coprime with the readings")
    .option(
      "--tolerance <LSB>",
      "± aimed at for transitions, INL, DNL (default: a tenth of each limit)",
      quantityOption("count", 1e-6, 1e6, "a number of LSB above 0, such as 0.1"),
    )
    .option(
      "--confidence <SHARE>",
      "of each figure (default: 95 %)",
      quantityOption("ratio", 0.5, 1 - 1e-12, "a share from 50 % to below 100 %"),
    )
    .option(
      "--noise <LSB>",
      "noise at the input, rms (default: the noiseRms limit, else 0.5)",
      quantityOption("count", 0, 1e6, "a number of LSB, such as 0.5"),
    )
    .option("--write [FILE]", "complete the bench file with the plan: in place, or as FILE")
    .option("--json <FILE>", "the plan as JSON; - for standard output")
    .option("--quiet", "no text on standard output")
    .addHelpText(
      "after",
      `
Example:
  codestair plan gauge.yaml --write
  codestair plan gauge.yaml --at "1.8 V" --result gauge.json

Exit status: 0 ready, 1 something will not work as set (settling, pin, rate,
serial line), 2 cannot be used, 3 a limit cannot be decided with this bench.`,
    )
    .action(async (benchPath: string, options: PlanArguments) => runPlan(benchPath, options, io));
}
