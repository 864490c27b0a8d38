import { dirname, resolve } from "node:path";
import type { Bench, CaptureSpec } from "../lib/bench/bench.ts";
import { type Problem, ProblemError } from "../lib/bench/problem.ts";
import { scoreCapture, scoreSession } from "../lib/score.ts";
import type { CaptureScore, SessionScore } from "../lib/session.ts";
import type { Io } from "./io.ts";
import { loadBench } from "./loadBench.ts";
import { openLog } from "./openLog.ts";
import { Progress } from "./progress.ts";

/** Scoring this many readings takes a noticeable part of a second. */
const LONG = 2_000_000;

/**
 * Gives the logs named on the command line to the captures they belong to: to the capture whose bench file entry names that
 * file, else in order to those that name none, or to the only capture there is.
 * @throws ProblemError  more logs than captures, or a capture left without a log
 */
export function assignLogs(
  bench: Bench,
  benchPath: string,
  logs: readonly string[],
): { spec: CaptureSpec; path: string }[] {
  const folder = dirname(benchPath);
  const problem = (key: string | null, found: string, expected: string): Problem => ({
    code: "no-log",
    file: benchPath,
    line: null,
    key,
    found,
    expected,
  });
  const fileOf = (spec: CaptureSpec): string | null =>
    spec.file === null ? null : spec.file === "-" ? "-" : resolve(folder, spec.file);
  if (logs.length === 0) {
    const without = bench.captures.filter((c) => c.file === null);
    if (without.length > 0)
      throw new ProblemError(
        without.map((c) =>
          problem(`captures.${c.name}`, "has no file", "`file:` in the bench file, or the log on the command line"),
        ),
      );
    return bench.captures.map((spec) => ({ spec, path: fileOf(spec) as string }));
  }
  const left = [...bench.captures];
  const given: { spec: CaptureSpec; path: string }[] = [];
  const take = (path: string, index: number): void => {
    const spec = left.splice(index, 1)[0] as CaptureSpec;
    given.push({ spec: { ...spec, file: path }, path });
  };
  const later: string[] = [];
  for (const path of logs) {
    const named = path === "-" ? -1 : left.findIndex((c) => fileOf(c) === resolve(path));
    if (named >= 0) take(path, named);
    else later.push(path);
  }
  for (const path of later) {
    const free = left.findIndex((c) => c.file === null);
    if (free >= 0) take(path, free);
    else if (left.length > 0) take(path, 0);
    else
      throw new ProblemError([
        problem(
          null,
          `${logs.length} logs for ${bench.captures.length} captures; ${path} has no capture`,
          "a capture in the bench file for each log",
        ),
      ]);
  }
  // In the bench file's order, whatever the order on the command line.
  const order = new Map(bench.captures.map((c, i) => [c.name, i]));
  return given.sort((a, b) => (order.get(a.spec.name) ?? 0) - (order.get(b.spec.name) ?? 0));
}

/**
 * Scores a bench file's captures. A capture that cannot be read is reported beside the others.
 * @throws ProblemError  the bench file cannot be used, or no capture at all could be read
 */
export async function scoreBench(
  benchPath: string,
  logs: readonly string[],
  io: Io,
  options: { quiet?: boolean } = {},
): Promise<SessionScore> {
  const bench = loadBench(benchPath);
  const scores: CaptureScore[] = [];
  const unreadable: { spec: CaptureSpec; problems: readonly Problem[] }[] = [];
  const progress = new Progress(io, options.quiet);
  try {
    for (const { spec, path } of assignLogs(bench, benchPath, logs)) {
      try {
        const { log, sha256 } = await openLog(path, spec.reading, io, (read) =>
          progress.show(`${spec.name}: reading, ${(read / 1e6).toFixed(0)} MB`),
        );
        const readings = log.channels[0]?.codes.length ?? 0;
        if (readings >= LONG) progress.stage(`${spec.name}: scoring ${(readings / 1e6).toFixed(0)} million readings`);
        scores.push(scoreCapture({ spec, log, sha256 }));
      } catch (error) {
        if (!(error instanceof ProblemError)) throw error;
        unreadable.push({ spec, problems: error.problems });
      }
    }
  } finally {
    progress.done();
  }
  if (scores.length === 0) throw new ProblemError(unreadable.flatMap((u) => u.problems));
  return scoreSession(bench, scores, unreadable);
}
