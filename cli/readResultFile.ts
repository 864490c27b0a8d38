import { closeSync, openSync, readFileSync, readSync, statSync } from "node:fs";
import type { Result } from "../lib/result.ts";

/** A page starts with its doctype, a result with a brace; a log of many gigabytes must not be read whole to find out. */
const ENOUGH = 4096;

/**
 * The result in a file that score wrote, JSON or page.
 * @returns null when the file is something else, or cannot be read here (who reads it next says why)
 * @throws ProblemError  it is a result, but a damaged one
 */
export async function readResultFile(path: string): Promise<Result | null> {
  if (path === "-") return null;
  let start: string;
  try {
    // Before it is opened: a pipe that was opened once is used up.
    if (!statSync(path).isFile()) return null;
    const file = openSync(path, "r");
    try {
      const head = Buffer.alloc(ENOUGH);
      start = head.toString("utf8", 0, readSync(file, head, 0, ENOUGH, 0));
    } finally {
      closeSync(file);
    }
  } catch {
    return null;
  }
  if (!/^\s*<!doctype html>/i.test(start) && !/^\s*\{/.test(start)) return null;
  const text = readFileSync(path, "utf8");
  const { looksLikeResult, parseResult } = await import("../lib/parseResult.ts");
  return looksLikeResult(text) ? parseResult(text, path) : null;
}
