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

/** The real process. Its streams are opened when they are first asked for: each takes milliseconds. */
export function processIo(): Io {
  const { env } = process;
  return {
    out: (text) => void process.stdout.write(text),
    err: (text) => void process.stderr.write(text),
    get colour() {
      return env.NO_COLOR ? false : env.FORCE_COLOR ? true : process.stdout.isTTY === true;
    },
    get progress() {
      return process.stderr.isTTY === true;
    },
    get columns() {
      return process.stdout.columns ?? 80;
    },
    get stdin() {
      return process.stdin;
    },
    status: 0,
  };
}
