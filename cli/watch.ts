import { watch as watchFolder } from "node:fs";
import { basename, dirname, resolve } from "node:path";
import { Command } from "commander";
import type { Io } from "./io.ts";

/** A log that is being written changes many times a second; wait until it rests this long. */
const REST_MS = 300;

export function command(io: Io): Command {
  return new Command("watch")
    .argument("<bench>", "bench file")
    .argument("[log...]", "logs for its captures, instead of the files it names")
    .option("--html <file>", "the page, which reloads itself (default: beside the bench file)")
    .option("--json <file>", "write the result as JSON each time")
    .option("--times <n>", "stop after this many scores (default: until Ctrl-C)", Number)
    .option("-q, --quiet", "no summary")
    .addHelpText("after", "\nExample:\n  codestair watch boardA.yaml")
    .action(async (bench: string, logs: string[], options: WatchOptions) => {
      await watchBench(bench, logs, options, io);
    });
}

export interface WatchOptions {
  readonly html?: string;
  readonly json?: string;
  readonly times?: number;
  readonly quiet?: boolean;
}

/** Scores, then scores again each time the bench file or one of its logs has changed and come to rest. */
export async function watchBench(
  benchPath: string,
  logs: readonly string[],
  options: WatchOptions,
  io: Io,
): Promise<void> {
  const { ProblemError, renderProblem } = await import("../lib/bench/problem.ts");
  const { loadBench } = await import("./loadBench.ts");
  const { assignLogs, scoreBench } = await import("./scoreBench.ts");
  const { defaultReport, statusOf } = await import("./score.ts");
  const { writeScore } = await import("./writeScore.ts");
  const html = options.html ?? defaultReport(benchPath);

  const watched = new Map<string, Set<string>>();
  const bench = loadBench(benchPath);
  for (const path of [benchPath, ...assignLogs(bench, benchPath, logs).map((a) => a.path)]) {
    const folder = dirname(resolve(path));
    watched.set(folder, (watched.get(folder) ?? new Set()).add(basename(path)));
  }

  let changed: () => void = () => {};
  let timer: NodeJS.Timeout | undefined;
  let pending = false;
  // Folders, not files: an editor or a logger that replaces its file would leave a watch on the old one.
  const watchers = [...watched].map(([folder, names]) =>
    watchFolder(folder, (_event, name) => {
      if (name === null || !names.has(name)) return;
      clearTimeout(timer);
      timer = setTimeout(() => {
        pending = true;
        changed();
      }, REST_MS);
    }),
  );
  try {
    for (let round = 1; ; round++) {
      pending = false;
      try {
        const session = await scoreBench(benchPath, logs, io, options);
        await writeScore(session, { ...options, html, reload: true }, io);
        io.status = statusOf(session);
      } catch (error) {
        // A half-written log or bench file is what watching is for: say it and wait for the next change.
        if (!(error instanceof ProblemError)) throw error;
        for (const problem of error.problems) io.err(`${renderProblem(problem)}\n`);
        io.status = 2;
      }
      if (options.times !== undefined && round >= options.times) return;
      if (!options.quiet) io.err("Waiting for the log to change; Ctrl-C ends.\n");
      if (!pending)
        await new Promise<void>((resolveChange) => {
          changed = resolveChange;
        });
    }
  } finally {
    clearTimeout(timer);
    for (const watcher of watchers) watcher.close();
  }
}
