import { terminal, write } from "./standardStream.ts";

/** A command's edge to the world, replaceable in tests. Results go to `out`, progress and warnings to `err`. */
export interface Io {
  out(text: string): void;
  err(text: string): void;
  /** Colour on standard output: a terminal, or FORCE_COLOR; never with NO_COLOR. Colour is never the only carrier. */
  readonly colour: boolean;
  /** Standard error is a terminal, so progress may be drawn and erased. */
  readonly progress: boolean;
  readonly columns: number;
  readonly stdin: AsyncIterable<Uint8Array>;
  /** Exit status of the command that ran; 0 unless it says otherwise. */
  status: number;
}

export const EXIT = { pass: 0, fail: 1, unusable: 2, undecided: 3 } as const;

/** The real process. What a stream is like is found out when it is first asked for: each takes milliseconds to open. */
export function processIo(): Io {
  const { env } = process;
  return {
    out: (text) => write(1, text),
    err: (text) => write(2, text),
    get colour() {
      return env.NO_COLOR ? false : env.FORCE_COLOR ? true : terminal(1) !== null;
    },
    get progress() {
      return terminal(2) !== null;
    },
    get columns() {
      return terminal(1)?.columns ?? 80;
    },
    get stdin() {
      return process.stdin;
    },
    status: 0,
  };
}
