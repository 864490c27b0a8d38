import { ProblemError } from "../../lib/bench/problem.ts";
import { createLogReader, type LogReaderHints } from "../../lib/capture/createLogReader.ts";
import type { Log } from "../../lib/capture/log.ts";

export function bytesOf(text: string | Uint8Array): Uint8Array {
  return typeof text === "string" ? new TextEncoder().encode(text) : text;
}

/** Reads bytes in the given pieces. */
export function readInPieces(bytes: Uint8Array, cuts: readonly number[], hints: LogReaderHints = {}): Log {
  const reader = createLogReader(hints);
  let at = 0;
  for (const cut of [...cuts].sort((a, b) => a - b)) {
    const to = Math.min(bytes.length, Math.max(at, cut));
    reader.push(bytes.slice(at, to));
    at = to;
  }
  reader.push(bytes.slice(at));
  return reader.end();
}

/** Everything about a log, or the clear error it ended in, as text to compare. Any other error is a defect and goes up. */
export function outcome(bytes: Uint8Array, cuts: readonly number[] = [], hints: LogReaderHints = {}): string {
  try {
    const log = readInPieces(bytes, cuts, hints);
    return JSON.stringify(log, (_, value: unknown) => {
      if (value instanceof Map) return [...value];
      return ArrayBuffer.isView(value) ? Array.from(value as Float64Array, String) : value;
    });
  } catch (error) {
    if (error instanceof ProblemError) return `problem: ${error.message}`;
    throw error;
  }
}

export function skippedLines(log: Log): number {
  return log.skipped.reduce((n, s) => n + s.count, 0);
}
