import { basename, dirname, extname, join } from "node:path";
import { Command } from "commander";
import type { SessionScore, SessionSummary } from "../lib/session.ts";
import { EXIT, type Io } from "./io.ts";

export interface ScoreOptions {
  readonly json?: string;
  readonly html?: string | false;
  readonly tables?: string;
  readonly markdown?: string;
  readonly quiet?: boolean;
}

const STATUS = { pass: EXIT.pass, none: EXIT.pass, fail: EXIT.fail, undecided: EXIT.undecided } as const;

/** Exit status of a scored session: what cannot be read weighs more than a failed limit, and that more than an undecided one. */
export function statusOf(session: SessionSummary): number {
  return session.unreadable.length > 0 ? EXIT.unusable : STATUS[session.verdict.decision];
}

/** Where the page goes when no place is named: beside the bench file. */
export function defaultReport(benchPath: string): string {
  return join(dirname(benchPath), `${basename(benchPath, extname(benchPath))}.report.html`);
}

/**
 * Judges again what was scored before: a result or page as it is, or one given beside a bench file whose limits count.
 * @returns false when none of the files is a result, so that there are logs to score
 */
async function judgedAgain(
  benchPath: string,
  logs: readonly string[],
  options: ScoreOptions,
  io: Io,
): Promise<boolean> {
  const { readResultFile } = await import("./readResultFile.ts");
  const own = await readResultFile(benchPath);
  const beside = own === null && logs.length === 1 ? await readResultFile(logs[0] as string) : null;
  const result = own ?? beside;
  if (result === null) return false;
  const { runRejudge } = await import("./runRejudge.ts");
  await runRejudge(result, own === null ? benchPath : null, options, io);
  return true;
}

/** Scores a bench file and writes what was asked for. */
export async function runScore(
  benchPath: string,
  logs: readonly string[],
  options: ScoreOptions,
  io: Io,
): Promise<SessionScore> {
  const { scoreBench } = await import("./scoreBench.ts");
  const { writeScore } = await import("./writeScore.ts");
  const session = await scoreBench(benchPath, logs, io, options);
  const report = options.html === false ? null : (options.html ?? defaultReport(benchPath));
  await writeScore(session, { ...options, html: report }, io);
  io.status = statusOf(session);
  return session;
}

export function command(io: Io): Command {
  return new Command("score")
    .argument("<bench>", "bench file (YAML or JSON); or a result or report page, to judge it again")
    .argument(
      "[log...]",
      "logs for its captures, instead of the files it names; - is standard input; or a result or report page, to judge it by this bench file's limits",
    )
    .option("--html <file>", "write the report page there (default: beside the bench file)")
    .option("--no-html", "write no page")
    .option("--json <file>", "write the result as JSON; - is standard output")
    .option("--tables <folder>", "write codes, transitions, DNL, INL, spectrum and fit as CSV")
    .option("--markdown <file>", "write the summary and tables as Markdown")
    .option("-q, --quiet", "no summary; the exit status tells")
    .addHelpText(
      "after",
      "\nExample:\n  codestair score boardA.yaml --json boardA.json\n  cat tone.csv | codestair score tone.yaml -\n  codestair score stricter.yaml boardA.report.html",
    )
    .action(async (bench: string, logs: string[], options: ScoreOptions) => {
      if (!(await judgedAgain(bench, logs, options, io))) await runScore(bench, logs, options, io);
    });
}
