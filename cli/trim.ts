import { Command, InvalidArgumentError } from "commander";
import { ACCUMULATORS, type AccumulatorBits } from "../lib/trim/fixedPoint.ts";
import { EXIT, type Io } from "./io.ts";

interface TrimCommandOptions {
  readonly capture?: string;
  readonly accumulator: AccumulatorBits;
  readonly table?: number;
  readonly header?: string | false;
  readonly prefix: string;
  readonly json?: string;
  readonly check?: string;
  readonly checkCapture?: string;
  readonly bench?: string;
  readonly quiet?: boolean;
}

export function command(io: Io): Command {
  return new Command("trim")
    .argument("<input>", "bench file, result or report page of the board to correct")
    .option("--capture <name>", "take offset and gain from this capture (default: the one that knows them best)")
    .option("--accumulator <bits>", "width of the firmware's signed accumulator: 16, 32 or 64", accumulator, 32)
    .option("--table <points>", "a piecewise-linear table as well, of 2^n + 1 points: 17, 33, 65 …", wholeNumber)
    .option("--header <file>", "write the C header there (default: beside the input)")
    .option("--no-header", "write no header")
    .option("--prefix <name>", "what every C name begins with", identifier, "trim")
    .option("--check <log>", "verify the constants on a second capture")
    .option("--check-capture <name>", "the bench file's capture that says what was applied to it")
    .option("--bench <file>", "the bench file for --check, where the input is a result")
    .option("--json <file>", "write constants and residuals as JSON; - is standard output")
    .option("-q, --quiet", "no summary")
    .addHelpText(
      "after",
      "\nExample:\n  codestair trim boardA.yaml --table 33 --check boardA/steps2.csv --check-capture steps\n\nExit status: 0 made (and confirmed, with --check), 1 the check refutes them, 2 cannot be used, 3 the check cannot decide.",
    )
    .action(async (input: string, options: TrimCommandOptions) => {
      await runTrim(input, options, io);
    });
}

function accumulator(text: string): AccumulatorBits {
  const bits = Number(text);
  if (!(ACCUMULATORS as readonly number[]).includes(bits))
    throw new InvalidArgumentError(`expected ${ACCUMULATORS.join(", ")}`);
  return bits as AccumulatorBits;
}

function wholeNumber(text: string): number {
  if (!/^\d+$/.test(text)) throw new InvalidArgumentError("expected a whole number of points, such as 33");
  return Number(text);
}

function identifier(text: string): string {
  if (!/^[A-Za-z_][A-Za-z0-9_]*$/.test(text))
    throw new InvalidArgumentError("expected a C identifier: letters, digits, underscores");
  return text;
}

async function runTrim(input: string, options: TrimCommandOptions, io: Io): Promise<void> {
  const { loadResult } = await import("./loadResult.ts");
  const { trim } = await import("../lib/trim/trim.ts");
  const { trimHeader } = await import("../lib/trim/header.ts");
  const { trimJson } = await import("../lib/trim/trimJson.ts");
  const { trimText } = await import("../reports/trimText.ts");
  const { isSimulatedResult, SIMULATED } = await import("../reports/simulatedResult.ts");
  const { fileBeside } = await import("./pageBeside.ts");
  const { writeWhole } = await import("./writeWhole.ts");
  const { VERSION } = await import("./version.ts");

  const result = await loadResult(input, io, options);
  const made = trim(result, {
    file: input,
    capture: options.capture ?? null,
    accumulator: options.accumulator,
    tablePoints: options.table ?? null,
  });
  const check =
    options.check === undefined
      ? null
      : await (await import("./runTrimCheck.ts")).runTrimCheck(made, input, options.check, options, io);
  const simulated = isSimulatedResult(result);
  const written = new Date().toISOString();
  const { capture } = made.source;
  const headerPath = options.header === false ? null : (options.header ?? fileBeside(input, "trim.h"));
  if (headerPath !== null)
    await writeWhole(
      headerPath,
      trimHeader(made, {
        prefix: options.prefix,
        heading: [
          `Correction constants for: ${result.bench.title}.`,
          `Written by codestair ${VERSION} on ${written.slice(0, 10)} from capture ${capture.name}, SHA-256 ${capture.sha256.slice(0, 16)}.`,
          ...(simulated ? [SIMULATED] : []),
        ],
      }),
    );
  const json = `${JSON.stringify(trimJson(made, check, { version: VERSION, written, from: input }), null, 1)}\n`;
  if (options.json !== undefined && options.json !== "-") await writeWhole(options.json, json);
  if (options.json === "-") io.out(json);
  else if (!options.quiet)
    io.out(
      trimText(made, check, simulated, {
        colour: io.colour,
        columns: Math.min(io.columns, 100),
        pagePath: null,
        headerPath,
      }),
    );
  if (check !== null)
    io.status = { confirmed: EXIT.pass, refuted: EXIT.fail, undecided: EXIT.undecided }[check.decision];
}
