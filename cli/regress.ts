import { Command } from "commander";
import type { Regression } from "../lib/regress/regression.ts";
import type { Result } from "../lib/result.ts";
import type { RegressSide } from "../reports/regressPage.ts";
import { EXIT, type Io } from "./io.ts";
import { addOutcomeOptions, type OutcomeOptions } from "./outcomeOptions.ts";

interface RegressCommandOptions extends OutcomeOptions {
  readonly allow?: readonly string[];
  readonly junit?: string;
}

export function command(io: Io): Command {
  const regress = new Command("regress")
    .argument("<baseline>", "bench file, result or report page of the revision that was good")
    .argument("<new>", "the same of the revision to judge")
    .option(
      "--allow <metric=amount>",
      "how much worse it may become, in its own unit; may be repeated; comes before the bench file's allow:",
      (text: string, before: readonly string[] | undefined) => [...(before ?? []), text],
    )
    .option("--junit <file>", "write JUnit XML for a build server");
  return addOutcomeOptions(regress, {
    served: "both",
    beside: "the new one",
    json: "the decisions",
    quiet: "no summary; the exit status tells",
  })
    .addHelpText(
      "after",
      "\nExample:\n  codestair regress boardA.json boardB.yaml --allow enob=0.1 --junit regress.xml\n\nExit status: 0 nothing got worse (unchanged within the uncertainty included), 1 a metric got worse or vanished,\n2 cannot be used, 3 undecided.",
    )
    .action(async (baseline: string, now: string, options: RegressCommandOptions) => {
      await runRegress(baseline, now, options, io);
    });
}

async function runRegress(
  baselinePath: string,
  newPath: string,
  options: RegressCommandOptions,
  io: Io,
): Promise<void> {
  const { metricAmounts } = await import("./metricAmounts.ts");
  const allow = metricAmounts(options.allow ?? []);
  const { loadResult } = await import("./loadResult.ts");
  const { regress } = await import("../lib/regress/regress.ts");
  const { regressionJson } = await import("../lib/regress/regressionJson.ts");
  const { renderRegressPage } = await import("../reports/regressPage.ts");
  const { regressText } = await import("../reports/regressText.ts");
  const { isSimulatedResult } = await import("../reports/simulatedResult.ts");
  const { regressionCsv } = await import("../reports/outcomeTables.ts");
  const { pageBeside } = await import("./pageBeside.ts");
  const { writeOutcome } = await import("./writeOutcome.ts");
  const { writeWhole } = await import("./writeWhole.ts");
  const { VERSION } = await import("./version.ts");

  const baseline = await loadResult(baselinePath, io, options);
  const now = await loadResult(newPath, io, options);
  const shared = { source: options.sameSource === true, board: options.sameBoard === true };
  const regression = regress(baseline, now, { shared, allow });
  const written = new Date().toISOString();
  const simulated = [baseline, now].some(isSimulatedResult);
  if (options.junit !== undefined) {
    const { renderJunit } = await import("../reports/junit.ts");
    const { regressSuite } = await import("../reports/regressSuite.ts");
    await writeWhole(options.junit, renderJunit(regressSuite(regression, now.bench.title, [baselinePath, newPath])));
  }
  const about = { version: VERSION, written, baseline: baselinePath, now: newPath };
  await writeOutcome(
    {
      json: regressionJson(regression, about),
      page: (json) =>
        renderRegressPage(
          regression,
          { baseline: side(baselinePath, baseline), now: side(newPath, now) },
          { version: VERSION, written, simulated, json },
        ),
      text: (pagePath) =>
        regressText(regression, [baselinePath, newPath], simulated, {
          colour: io.colour,
          columns: Math.min(io.columns, 100),
          pagePath,
        }),
      table: { name: "regression.csv", csv: () => regressionCsv(regression) },
    },
    { ...options, pagePath: pageBeside(newPath, "regress", options.html) },
    io,
  );
  for (const { name, problems } of now.unreadable)
    io.err(`${newPath}: capture ${name} could not be read: ${(problems ?? []).join("; ")}\n`);
  io.status = now.unreadable.length > 0 ? EXIT.unusable : statusOf(regression);
}

function statusOf({ decision }: Regression): number {
  return { "not worse": EXIT.pass, worse: EXIT.fail, undecided: EXIT.undecided }[decision];
}

function side(name: string, { bench, written, captures }: Result): RegressSide {
  return {
    name,
    title: bench.title,
    conditions: bench.conditions,
    written,
    hashes: captures.map((c) => `${c.file ?? c.name} sha256 ${c.sha256.slice(0, 16)}…`),
  };
}
