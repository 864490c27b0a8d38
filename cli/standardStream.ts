import { fstatSync, writeSync } from "node:fs";

/** Between tries where a reader that must not be waited for is full. */
const PAUSE_MS = 5;

/** Node's own stream of standard output (1) or standard error (2), for a terminal alone: to files and pipes it would be loaded for nothing, in milliseconds. */
export function terminal(descriptor: 1 | 2): NodeJS.WriteStream | null {
  const stream = (): NodeJS.WriteStream => (descriptor === 1 ? process.stdout : process.stderr);
  return mayBeTerminal(descriptor) && stream().isTTY ? stream() : null;
}

function mayBeTerminal(descriptor: 1 | 2): boolean {
  try {
    return fstatSync(descriptor).isCharacterDevice();
  } catch {
    // Where the system cannot tell, Node is asked.
    return true;
  }
}

/** Writes text to standard output (1) or standard error (2), all of it before it returns. A reader that stops early (`| head`) is no error of ours: it ends the process. */
export function write(descriptor: 1 | 2, text: string): void {
  const stream = terminal(descriptor);
  if (stream !== null) {
    stream.write(text);
    return;
  }
  const bytes = Buffer.from(text);
  for (let from = 0; from < bytes.length; )
    try {
      from += writeSync(descriptor, bytes, from);
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException;
      if (code === "EPIPE") process.exit(0);
      if (code !== "EAGAIN") throw error;
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, PAUSE_MS);
    }
}

/** Ends the process at once where nothing is left to be written (a terminal's stream may still be at it): taking down the heap and waiting for the compiler takes a tenth of a short run. */
export function endAtOnce(): void {
  if (terminal(1) === null && terminal(2) === null) process.exit();
}
