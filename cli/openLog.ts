import { createHash } from "node:crypto";
import { closeSync, open, openSync, readSync, statSync } from "node:fs";
import { promisify } from "node:util";
import type { Gunzip } from "node:zlib";
import type { ReadingHints } from "../lib/bench/bench.ts";
import { ProblemError } from "../lib/bench/problem.ts";
import { createLogReader } from "../lib/capture/createLogReader.ts";
import type { Log } from "../lib/capture/log.ts";
import type { Io } from "./io.ts";
import { letSignalsIn } from "./letSignalsIn.ts";

/** Unpacked more than this, and more than BOMB_RATIO times the packed size: no log packs that well. */
const BOMB_BYTES = 256 * 2 ** 20;
const BOMB_RATIO = 200;
/** A pipe that sent no line end and then nothing for this long will not send one. */
const SILENCE_MS = 5000;
const CHUNK = 1 << 20;

/**
 * Reads a log from a file, a pipe or standard input, as a stream. gzip is recognised by its first bytes, whatever the file is called.
 * @param path        a file, or "-" for standard input
 * @param hints       what a person stated about the log
 * @param onProgress  told the bytes read so far, and how many there are in all (0 when unknown)
 * @returns the log, the SHA-256 of the bytes as they lie on disk (hex), and how many they are
 * @throws ProblemError  it is missing, cannot be read, is a directory, or holds no readings; the problem names the file
 */
export async function openLog(
  path: string,
  hints: ReadingHints,
  io: Pick<Io, "stdin">,
  onProgress?: (bytes: number, total: number) => void,
): Promise<{ log: Log; sha256: string; bytes: number }> {
  try {
    return await readAll(path, hints, io, onProgress);
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    const file = path === "-" ? "standard input" : path;
    throw new ProblemError(error.problems.map((p) => ({ ...p, file: p.file ?? file })));
  }
}

async function readAll(
  path: string,
  hints: ReadingHints,
  io: Pick<Io, "stdin">,
  onProgress?: (bytes: number, total: number) => void,
): Promise<{ log: Log; sha256: string; bytes: number }> {
  const { stream, size, isPipe } = path === "-" ? { stream: io.stdin, size: 0, isPipe: true } : await openFile(path);
  const hash = createHash("sha256");
  let bytes = 0;
  const counted = async function* (): AsyncGenerator<Uint8Array> {
    let lineEnded = false;
    for await (const chunk of isPipe ? withPatience(stream, () => bytes > 0 && !lineEnded) : stream) {
      hash.update(chunk);
      bytes += chunk.length;
      if (isPipe && !lineEnded) lineEnded = chunk.includes(10) || chunk.includes(13);
      onProgress?.(bytes, size);
      yield chunk;
    }
  };
  const source = counted();
  const head = await firstBytes(source);
  const compressed = head[0] === 0x1f && head[1] === 0x8b;
  const reader = createLogReader({ ...hints, compressed, ...(size > 0 && !compressed ? { expectedBytes: size } : {}) });
  const whole = async function* (): AsyncGenerator<Uint8Array> {
    try {
      yield head;
      yield* source;
    } finally {
      // Also when the reader gave up on the very first bytes: the file is to be closed.
      await source.return(undefined);
    }
  };
  if (compressed) {
    let unpacked = 0;
    for await (const chunk of gunzip(whole())) {
      unpacked += chunk.length;
      if (unpacked > BOMB_BYTES && unpacked > BOMB_RATIO * bytes) {
        throw unusable(
          `${bytes} bytes of gzip unpack to more than ${Math.floor(unpacked / 2 ** 20)} MiB`,
          "a log that packs less than 200-fold",
          "If it is a real log, unpack it with gunzip and give the text",
        );
      }
      reader.push(chunk);
    }
  } else for await (const chunk of whole()) reader.push(chunk);
  return { log: reader.end(), sha256: hash.digest("hex"), bytes };
}

async function openFile(path: string): Promise<{ stream: AsyncIterable<Uint8Array>; size: number; isPipe: boolean }> {
  try {
    const about = statSync(path);
    if (about.isDirectory()) throw unusable("is a folder", "a log file", "Name one log in it");
    if (about.isFIFO()) return { stream: await openPipe(path), size: 0, isPipe: true };
    if (!about.isFile()) return { stream: fileChunks(path), size: 0, isPipe: false };
    return { stream: fileChunks(path), size: about.size, isPipe: false };
  } catch (error) {
    throw fileProblem(error);
  }
}

/** A named pipe as a socket: it can be let go at once, even while nothing comes. */
async function openPipe(path: string): Promise<AsyncIterable<Uint8Array>> {
  // The socket owns the descriptor and closes it.
  const fd = await promisify(open)(path, "r");
  const { Socket } = await import("node:net");
  return new Socket({ fd, readable: true, writable: false });
}

/** A file piece by piece into one buffer: each piece is worked through before the next is read over it. */
async function* fileChunks(path: string): AsyncGenerator<Uint8Array> {
  let file: number | undefined;
  try {
    file = openSync(path, "r");
    const buffer = new Uint8Array(CHUNK);
    for (;;) {
      const bytes = readSync(file, buffer);
      if (bytes === 0) return;
      yield buffer.subarray(0, bytes);
      if (bytes === CHUNK) await letSignalsIn();
    }
  } catch (error) {
    throw fileProblem(error);
  } finally {
    if (file !== undefined) closeSync(file);
  }
}

/** Enough of the beginning to see whether it is gzip; a copy, since the source may read over its buffer. */
async function firstBytes(source: AsyncGenerator<Uint8Array>): Promise<Uint8Array> {
  let head = new Uint8Array(0);
  while (head.length < 2) {
    const { value, done } = await source.next();
    if (done) break;
    const longer = new Uint8Array(head.length + value.length);
    longer.set(head);
    longer.set(value, head.length);
    head = longer;
  }
  return head;
}

async function* gunzip(source: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  const { createGunzip } = await import("node:zlib");
  const unzip = createGunzip({ chunkSize: 1 << 17 });
  const failed = (async () => {
    for await (const chunk of source) {
      // zlib works later: it needs bytes of its own.
      if (!unzip.write(chunk.slice())) await room(unzip);
      if (unzip.destroyed) return;
    }
    unzip.end();
  })().catch((error: unknown) => {
    unzip.destroy(error as Error);
  });
  try {
    yield* unzip as AsyncIterable<Uint8Array>;
    await failed;
  } catch (error) {
    if (error instanceof ProblemError) throw error;
    throw unusable(
      `the gzip data are damaged (${(error as NodeJS.ErrnoException).code ?? String(error)})`,
      "a whole gzip file",
      "Copy the file again, or unpack as much of it as can be had",
    );
  } finally {
    unzip.destroy();
    await failed;
  }
}

/** Waits until the unpacker takes more, or is done with. */
function room(unzip: Gunzip): Promise<void> {
  return new Promise((resolve) => {
    const go = (): void => {
      unzip.off("drain", go).off("close", go);
      resolve();
    };
    unzip.on("drain", go).on("close", go);
  });
}

/** Passes chunks on, but gives up on a pipe that stays silent while `stuck` holds. */
async function* withPatience(stream: AsyncIterable<Uint8Array>, stuck: () => boolean): AsyncGenerator<Uint8Array> {
  const pieces = stream[Symbol.asyncIterator]();
  for (;;) {
    let timer: NodeJS.Timeout | undefined;
    const next = pieces.next();
    const silence = new Promise<"silent">((resolve) => {
      if (stuck()) timer = setTimeout(() => resolve("silent"), SILENCE_MS);
    });
    const piece = await Promise.race([next, silence]).finally(() => clearTimeout(timer));
    if (piece === "silent") {
      const close = stream as { destroy?: () => void };
      close.destroy?.();
      throw unusable(
        `no line end came, and nothing more for ${SILENCE_MS / 1000} s`,
        "lines of text with readings",
        "Check that the sender ends its lines and closes the pipe",
      );
    }
    if (piece.done) return;
    yield piece.value;
  }
}

function fileProblem(error: unknown): ProblemError {
  if (error instanceof ProblemError) return error;
  const code = (error as NodeJS.ErrnoException).code;
  const found =
    code === "ENOENT"
      ? "there is no such file"
      : code === "EACCES" || code === "EPERM"
        ? "may not be read"
        : `cannot be read (${code ?? String(error)})`;
  return unusable(found, "a log file, or - for standard input");
}

function unusable(found: string, expected: string, next?: string): ProblemError {
  return new ProblemError([
    { code: "unreadable-log", file: null, line: null, key: null, found, expected, ...(next ? { next } : {}) },
  ]);
}
