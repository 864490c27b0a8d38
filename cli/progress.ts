import type { Io } from "./io.ts";

/** Shown only after this long, so that short work stays silent. */
const PATIENCE_MS = 500;
const EVERY_MS = 100;

/** One line of progress on standard error, drawn over itself and erased at the end; silent off a terminal. */
export class Progress {
  readonly #io: Io;
  readonly #quiet: boolean;
  // Not performance.now(), which takes Node milliseconds to provide.
  readonly #started = Date.now();
  #last = 0;
  #shown = false;

  constructor(io: Io, quiet = false) {
    this.#io = io;
    this.#quiet = quiet;
  }

  show(text: string): void {
    const now = Date.now();
    if (now - this.#started < PATIENCE_MS || now - this.#last < EVERY_MS) return;
    this.#draw(text, now);
  }

  /** A stage that is known to take long and will not report in between: shown at once. */
  stage(text: string): void {
    this.#draw(text, Date.now());
  }

  #draw(text: string, now: number): void {
    if (this.#quiet || !this.#io.progress) return;
    this.#last = now;
    this.#shown = true;
    this.#io.err(`\r\x1b[K${text.slice(0, this.#io.columns - 1)}`);
  }

  done(): void {
    if (this.#shown) this.#io.err("\r\x1b[K");
    this.#shown = false;
  }
}
