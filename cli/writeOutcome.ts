import { join } from "node:path";
import type { Io } from "./io.ts";
import { writeWhole } from "./writeWhole.ts";

/** What compare, regress and trend have to say, in each form. */
export interface Outcome {
  readonly json: object;
  /** The page, which carries the JSON. */
  readonly page: (json: string) => string;
  /** The summary, which names the page. */
  readonly text: (pagePath: string | null) => string;
  /** The table as CSV, and its file's name. */
  readonly table: { readonly name: string; readonly csv: () => string };
}

/** Writes an outcome in the forms that were asked for: page, JSON, and last the summary on the terminal. */
export async function writeOutcome(
  outcome: Outcome,
  options: {
    readonly pagePath: string | null;
    readonly json?: string;
    readonly tables?: string;
    readonly quiet?: boolean;
  },
  io: Io,
): Promise<void> {
  if (options.pagePath !== null) await writeWhole(options.pagePath, outcome.page(JSON.stringify(outcome.json)));
  const json = `${JSON.stringify(outcome.json, null, 1)}\n`;
  if (options.json !== undefined && options.json !== "-") await writeWhole(options.json, json);
  if (options.tables !== undefined) await writeWhole(join(options.tables, outcome.table.name), outcome.table.csv());
  if (options.json === "-") io.out(json);
  else if (!options.quiet) io.out(outcome.text(options.pagePath));
}
