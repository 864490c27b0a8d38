import { join } from "node:path";
import type { SessionScore } from "../lib/session.ts";
import { toResult } from "../lib/toResult.ts";
import { renderMarkdown } from "../reports/markdown.ts";
import { renderPage } from "../reports/page.ts";
import { renderTables } from "../reports/tables.ts";
import { renderTerminal } from "../reports/terminal.ts";
import type { Io } from "./io.ts";
import { VERSION } from "./version.ts";
import { writeWhole } from "./writeWhole.ts";

/** Writes a scored session in every form that was asked for: page, JSON, tables, Markdown, and last the summary on the terminal. */
export async function writeScore(
  session: SessionScore,
  options: {
    html: string | null;
    json?: string;
    tables?: string;
    markdown?: string;
    quiet?: boolean;
    reload?: boolean;
  },
  io: Io,
): Promise<void> {
  const written = new Date().toISOString();
  const result = toResult(session, { version: VERSION, written });
  const json = options.json === undefined ? "" : `${JSON.stringify(result, null, 1)}\n`;
  if (options.html !== null)
    await writeWhole(
      options.html,
      renderPage(session, { version: VERSION, written, result, reload: options.reload ?? false }),
    );
  if (options.json !== undefined && options.json !== "-") await writeWhole(options.json, json);
  if (options.markdown !== undefined)
    await writeWhole(options.markdown, renderMarkdown(session, { version: VERSION, written }));
  if (options.tables !== undefined)
    for (const [name, table] of renderTables(session)) await writeWhole(join(options.tables, name), table);
  if (options.json === "-") io.out(json);
  else if (!options.quiet)
    io.out(
      renderTerminal(session, { colour: io.colour, columns: Math.min(io.columns, 100), reportPath: options.html }),
    );
}
