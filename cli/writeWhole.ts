import { closeSync, mkdirSync, openSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { dirname } from "node:path";
import { ProblemError } from "../lib/bench/problem.ts";
import { letSignalsIn } from "./letSignalsIn.ts";

const unfinished = new Set<string>();
let watching = false;

/** Ctrl-C in the middle of a write leaves no half-written file behind. */
function removeUnfinishedOnInterrupt(): void {
  if (watching) return;
  watching = true;
  for (const signal of ["SIGINT", "SIGTERM"] as const)
    process.once(signal, () => {
      for (const path of unfinished) rmSync(path, { force: true });
      process.exit(signal === "SIGINT" ? 130 : 143);
    });
}

/**
 * Writes a file whole or not at all: beside its place first, then renamed. Folders on the way are made.
 * @throws ProblemError  the place cannot be written
 */
export async function writeWhole(path: string, content: string | Uint8Array | Iterable<string>): Promise<void> {
  removeUnfinishedOnInterrupt();
  const beside = `${path}.${process.pid}.part`;
  unfinished.add(beside);
  try {
    mkdirSync(dirname(path), { recursive: true });
    if (typeof content === "string" || content instanceof Uint8Array) writeFileSync(beside, content);
    else await writePieces(beside, content);
    renameSync(beside, path);
  } catch (error) {
    rmSync(beside, { force: true });
    throw new ProblemError([
      {
        code: "cannot-write",
        file: path,
        line: null,
        key: null,
        found: `cannot be written (${(error as NodeJS.ErrnoException).code ?? String(error)})`,
        expected: "a place this user may write to",
      },
    ]);
  } finally {
    unfinished.delete(beside);
  }
}

async function writePieces(path: string, pieces: Iterable<string>): Promise<void> {
  const file = openSync(path, "w");
  try {
    for (const piece of pieces) {
      writeFileSync(file, piece);
      await letSignalsIn();
    }
  } finally {
    closeSync(file);
  }
}
