import { readFileSync } from "node:fs";
import { ProblemError } from "../lib/bench/problem.ts";

/**
 * Reads a text file that a person named.
 * @throws ProblemError  it is not there, is a folder, or may not be read
 */
export function readText(path: string, what: string): string {
  try {
    return readFileSync(path, "utf8");
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    const found = code === "ENOENT" ? "no such file" : code === "EISDIR" ? "is a folder" : `cannot be read (${code})`;
    throw new ProblemError([{ code: "unreadable-file", file: path, line: null, key: null, found, expected: what }]);
  }
}
