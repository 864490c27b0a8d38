import { Command } from "commander";
import type { Io } from "./io.ts";
import { addOutcomeOptions, type OutcomeOptions } from "./outcomeOptions.ts";

export function command(io: Io): Command {
  const compare = new Command("compare").argument(
    "<input...>",
    "bench files, results or report pages, the first is the reference; one bench file alone compares its settings",
  );
  return addOutcomeOptions(compare, { served: "all captures", beside: "the last input", json: "the comparison" })
    .addHelpText(
      "after",
      "\nExample:\n  codestair compare boardA.yaml boardB.yaml --same-source\n  codestair compare settings.yaml\n\nExit status: 0 compared, 2 cannot be used.",
    )
    .action(async (inputs: string[], options: OutcomeOptions) => {
      await runCompare(inputs, options, io);
    });
}

async function runCompare(paths: readonly string[], options: OutcomeOptions, io: Io): Promise<void> {
  const { loadResult } = await import("./loadResult.ts");
  const { compare } = await import("../lib/compare/compare.ts");
  const { comparisonJson } = await import("../lib/compare/comparisonJson.ts");
  const { ProblemError } = await import("../lib/bench/problem.ts");
  const { renderComparePage } = await import("../reports/comparePage.ts");
  const { compareText } = await import("../reports/compareText.ts");
  const { isSimulatedResult } = await import("../reports/simulatedResult.ts");
  const { comparisonCsv } = await import("../reports/outcomeTables.ts");
  const { pageBeside } = await import("./pageBeside.ts");
  const { writeOutcome } = await import("./writeOutcome.ts");
  const { VERSION } = await import("./version.ts");

  const inputs = [];
  for (const name of paths) inputs.push({ name, result: await loadResult(name, io, options) });
  const shared = { source: options.sameSource === true, board: options.sameBoard === true };
  const comparison = compare(inputs, shared);
  if (comparison === null)
    throw new ProblemError([
      {
        code: "nothing-to-compare",
        file: paths[0] ?? null,
        line: null,
        key: null,
        found: "holds one setting and no kind of capture twice",
        expected: "two inputs, or one bench file whose captures differ in setting",
        next: "Give a second bench file or result, or captures with `converter:` overrides.",
      },
    ]);
  const written = new Date().toISOString();
  const simulated = inputs.some(({ result }) => isSimulatedResult(result));
  await writeOutcome(
    {
      json: comparisonJson(comparison, { version: VERSION, written }),
      page: (json) => renderComparePage(comparison, { version: VERSION, written, simulated, json }),
      text: (pagePath) =>
        compareText(comparison, simulated, { colour: io.colour, columns: Math.min(io.columns, 100), pagePath }),
      table: { name: "comparison.csv", csv: () => comparisonCsv(comparison) },
    },
    { ...options, pagePath: pageBeside(paths.at(-1) ?? "", "compare", options.html) },
    io,
  );
}
