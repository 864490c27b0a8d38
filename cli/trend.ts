import { Command } from "commander";
import type { MetricName } from "../lib/bench/metrics.ts";
import type { Io } from "./io.ts";
import { addOutcomeOptions, type OutcomeOptions } from "./outcomeOptions.ts";

interface TrendCommandOptions extends OutcomeOptions {
  readonly metric?: readonly string[];
  readonly asGiven?: boolean;
}

export function command(io: Io): Command {
  const trend = new Command("trend")
    .argument("<result...>", "results, report pages or bench files, two or more")
    .option(
      "--metric <name>",
      "only this metric; may be repeated (default: all that occur at least twice)",
      (text: string, before: readonly string[] | undefined) => [...(before ?? []), text],
    )
    .option("--as-given", "keep the order of the command line (default: by the date each was written)");
  return addOutcomeOptions(trend, { served: "all", beside: "the last one named", json: "the trend" })
    .addHelpText(
      "after",
      "\nExample:\n  codestair trend r1.json r2.json r3.json --metric enob --metric noiseRms\n\nExit status: 0 shown, 2 cannot be used.",
    )
    .action(async (results: string[], options: TrendCommandOptions) => {
      await runTrend(results, options, io);
    });
}

async function runTrend(paths: readonly string[], options: TrendCommandOptions, io: Io): Promise<void> {
  const { METRIC_NAMES } = await import("../lib/bench/metrics.ts");
  const { ProblemError } = await import("../lib/bench/problem.ts");
  const wrong = (key: string | null, found: string, expected: string) => ({
    code: "wrong-option",
    file: null,
    line: null,
    key,
    found,
    expected,
  });
  const metrics = options.metric ?? [];
  const unknown = metrics.filter((m) => !(METRIC_NAMES as readonly string[]).includes(m));
  const problems = unknown.map((m) => wrong("--metric", JSON.stringify(m), `one of: ${METRIC_NAMES.join(", ")}`));
  if (paths.length < 2) problems.push(wrong(null, "one result", "two or more, for a trend"));
  if (problems.length > 0) throw new ProblemError(problems);

  const { loadResult } = await import("./loadResult.ts");
  const { trend } = await import("../lib/trend/trend.ts");
  const { trendJson } = await import("../lib/trend/trendJson.ts");
  const { renderTrendPage } = await import("../reports/trendPage.ts");
  const { trendText } = await import("../reports/trendText.ts");
  const { isSimulatedResult } = await import("../reports/simulatedResult.ts");
  const { trendCsv } = await import("../reports/outcomeTables.ts");
  const { pageBeside } = await import("./pageBeside.ts");
  const { writeOutcome } = await import("./writeOutcome.ts");
  const { VERSION } = await import("./version.ts");

  const inputs = [];
  for (const name of paths) inputs.push({ name, result: await loadResult(name, io, options) });
  const found = trend(inputs, {
    asGiven: options.asGiven === true,
    metrics: metrics as readonly MetricName[],
    shared: { source: options.sameSource === true, board: options.sameBoard === true },
  });
  const written = new Date().toISOString();
  const simulated = inputs.some(({ result }) => isSimulatedResult(result));
  await writeOutcome(
    {
      json: trendJson(found, { version: VERSION, written }),
      page: (json) => renderTrendPage(found, { version: VERSION, written, simulated, json }),
      text: (pagePath) =>
        trendText(found, simulated, { colour: io.colour, columns: Math.min(io.columns, 100), pagePath }),
      table: { name: "trend.csv", csv: () => trendCsv(found) },
    },
    { ...options, pagePath: pageBeside(paths.at(-1) ?? "", "trend", options.html) },
    io,
  );
}
