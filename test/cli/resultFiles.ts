import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Result, ResultFigure } from "../../lib/result.ts";
import { capture, figure, result } from "../compare/builtResult.ts";
import { runCommand } from "./runCommand.ts";

/** A folder of its own for one test, with results in it; `run` runs a command line there and tells what came out. */
export function resultFolder(files: Readonly<Record<string, Result | string>>) {
  const folder = mkdtempSync(join(tmpdir(), "codestair-cli-"));
  for (const [name, content] of Object.entries(files))
    writeFileSync(join(folder, name), typeof content === "string" ? content : JSON.stringify(content));
  return {
    path: (name: string) => join(folder, name),
    read: (name: string) => readFileSync(join(folder, name), "utf8"),
    remove: () => rmSync(folder, { recursive: true, force: true }),
    /** Words that name a file of the folder stand for its path; so does anything that follows `@`. */
    run(...words: string[]) {
      const args = words.map((w) => (w in files ? join(folder, w) : w.startsWith("@") ? join(folder, w.slice(1)) : w));
      return runCommand(args);
    },
  };
}

/** A river gauge board's result: one tone capture of the given ENOB, and whatever else a test wants. */
export function boardResult(
  board: string,
  enob: number,
  more: {
    metrics?: Record<string, ResultFigure>;
    firmware?: string;
    written?: string;
    allow?: Record<string, number>;
  } = {},
): Result {
  return result([capture("tone", { metrics: { enob: figure("enob", enob, 0.03), ...more.metrics } })], {
    title: `River gauge logger, board ${board}`,
    conditions: { board, firmware: more.firmware ?? "r1", simulated: "yes" },
    written: more.written ?? null,
    allow: more.allow ?? {},
  });
}
