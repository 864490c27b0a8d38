import { rejudge } from "../lib/rejudge.ts";
import type { Result } from "../lib/result.ts";
import { renderTerminal } from "../reports/terminal.ts";
import type { Io } from "./io.ts";
import { loadBench } from "./loadBench.ts";
import { type ScoreOptions, statusOf } from "./score.ts";
import { writeWhole } from "./writeWhole.ts";

/** Judges a result without its logs, by its own limits or by a bench file's; summary and JSON, for there are no readings to draw a page from. */
export async function runRejudge(
  given: Result,
  benchPath: string | null,
  options: ScoreOptions,
  io: Io,
): Promise<void> {
  const { session, result } = rejudge(given, benchPath === null ? null : loadBench(benchPath));
  const json = JSON.stringify(result, null, 1);
  if (options.json !== undefined && options.json !== "-") await writeWhole(options.json, `${json}\n`);
  for (const [option, value] of Object.entries({
    html: options.html,
    tables: options.tables,
    markdown: options.markdown,
  }))
    if (typeof value === "string")
      io.err(
        `--${option} needs the readings; a result judged again has none. Score the bench file with its logs for it.\n`,
      );
  if (options.json === "-") io.out(`${json}\n`);
  else if (!options.quiet) {
    const columns = Math.min(io.columns, 100);
    io.out(renderTerminal(session, { colour: io.colour, columns, reportPath: null }));
  }
  io.status = statusOf(session);
}
