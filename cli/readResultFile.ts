import { open, readFile } from "node:fs/promises";
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
    const file = await open(path);
    try {
      if (!(await file.stat()).isFile()) return null;
      const { buffer, bytesRead } = await file.read(Buffer.alloc(ENOUGH), 0, ENOUGH, 0);
      start = buffer.toString("utf8", 0, bytesRead);
    } finally {
      await file.close();
    }
  } catch {
    return null;
  }
  if (!/^\s*<!doctype html>/i.test(start) && !/^\s*\{/.test(start)) return null;
  const text = await readFile(path, "utf8");
  const { looksLikeResult, parseResult } = await import("../lib/parseResult.ts");
  return looksLikeResult(text) ? parseResult(text, path) : null;
}
