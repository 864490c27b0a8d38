/** Words of a board that starts again. */
const RESTART =
  /\brst:|\breset\b|\bwatchdog\b|\bwdt\b|brown-?out|\bboot(?:ing|loader)?\b|\bpanic\b|\breboot|hard ?fault|\brestart/i;
const REMEMBERED = 200;

/**
 * Watches for start-up messages in the middle of a log: the board restarted there, and readings on both sides do not follow each other.
 */
export class RestartWatch {
  /** Line of each restart, the first few. */
  readonly lines: number[] = [];
  count = 0;
  readonly #preamble = new Set<string>();
  #readingsAtLast = 0;

  /** @param readings  taken so far */
  see(text: string, line: number, reason: string, readings: number): void {
    if (reason === "blank line" || reason === "comment" || text.length < 4) return;
    const shape = text.replace(/[0-9a-fx.]*\d[0-9a-fx.]*/gi, "#");
    if (readings === 0) {
      if (this.#preamble.size < REMEMBERED && /\p{L}{2}/u.test(text)) this.#preamble.add(shape);
      return;
    }
    if (readings === this.#readingsAtLast) return;
    if (!this.#preamble.has(shape) && !RESTART.test(text)) return;
    this.#readingsAtLast = readings;
    this.count++;
    if (this.lines.length < 5) this.lines.push(line);
  }

  /** One sentence, or null where nothing was seen. */
  remark(): string | null {
    if (this.count === 0) return null;
    const where = this.lines.join(", ");
    return `start-up messages in the middle (line ${where}${this.count > this.lines.length ? " and more" : ""}): the board restarted ${this.count === 1 ? "there" : `${this.count} times`}; readings before and after do not follow each other`;
  }
}
