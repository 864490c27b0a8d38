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

/** The real process. */
export function processIo(): Io {
  const { env, stdout, stderr, stdin } = process;
  const colour = env.NO_COLOR ? false : env.FORCE_COLOR ? true : stdout.isTTY === true;
  return {
    out: (text) => void stdout.write(text),
    err: (text) => void stderr.write(text),
    colour,
    progress: stderr.isTTY === true,
    columns: stdout.columns ?? 80,
    stdin,
    status: 0,
  };
}
