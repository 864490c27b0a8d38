import { createLogReader, type LogReaderHints } from "./createLogReader.ts";
import type { Log } from "./log.ts";

/**
 * Reads a whole log that is in memory.
 * @param bytes  the log as it lies on disk, unpacked
 * @throws ProblemError when the bytes cannot be a log or hold no reading
 * @example readLog(new TextEncoder().encode("2047\n2048\n")).channels[0].codes // Int32Array [2047, 2048]
 */
export function readLog(bytes: Uint8Array, hints: LogReaderHints = {}): Log {
  const reader = createLogReader({ expectedBytes: bytes.length, ...hints });
  reader.push(bytes);
  return reader.end();
}
