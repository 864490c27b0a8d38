import { ProblemError, renderProblem } from "../lib/bench/problem.ts";
import { EXIT, type Io } from "./io.ts";
import { VERSION } from "./version.ts";

type CommandModule = { command(io: Io): import("commander").Command };

/** The commands, in the order of a person's work. Each file is loaded only when its command runs, so that start-up stays short. */
const COMMANDS: Record<string, { summary: string; load: () => Promise<CommandModule> }> = {
  inspect: { summary: "what is in this log, with no bench file", load: () => import("./inspect.ts") },
  plan: {
    summary: "before the capture: frequency, record, timing, settling, pin safety",
    load: () => import("./plan.ts"),
  },
  score: { summary: "score the captures of a bench file", load: () => import("./score.ts") },
  compare: {
    summary: "what changed between settings, and is it more than the uncertainty",
    load: () => import("./compare.ts"),
  },
  regress: { summary: "did a hardware or firmware revision get worse", load: () => import("./regress.ts") },
  trend: { summary: "metrics over revisions and dates", load: () => import("./trend.ts") },
  trim: { summary: "correction constants for firmware, and what is left after them", load: () => import("./trim.ts") },
  simulate: { summary: "a capture with known faults, and its truth", load: () => import("./simulate.ts") },
  watch: { summary: "score again whenever the log changes", load: () => import("./watch.ts") },
};

/** Runs one command line; returns the exit status. Never throws for a user's mistake. */
export async function main(args: readonly string[], io: Io): Promise<number> {
  if (args.length === 1 && (args[0] === "--version" || args[0] === "-V")) {
    io.out(`${VERSION}\n`);
    return 0;
  }
  const { Command, CommanderError } = await import("commander");
  const program = new Command("codestair")
    .description(
      "Says from a log of raw ADC readings how good the converter and its whole chain are, with uncertainty.",
    )
    .version(VERSION)
    .showSuggestionAfterError()
    .addHelpText(
      "after",
      "\nExample:\n  codestair score bench.yaml\n\nExit status: 0 pass or no limits, 1 a limit fails, 2 cannot be used, 3 undecided.",
    );
  const named = args.find((a) => !a.startsWith("-"));
  for (const [name, { summary, load }] of Object.entries(COMMANDS)) {
    const command = name === named ? (await load()).command(io) : new Command(name);
    program.addCommand(command.description(summary));
  }
  for (const command of [program, ...program.commands]) {
    command.exitOverride().configureOutput({ writeOut: (t) => io.out(t), writeErr: (t) => io.err(t) });
  }
  try {
    await program.parseAsync([...args], { from: "user" });
    return io.status;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : EXIT.unusable;
    if (error instanceof ProblemError) {
      for (const problem of error.problems) io.err(`${renderProblem(problem)}\n`);
      return EXIT.unusable;
    }
    throw error;
  }
}
