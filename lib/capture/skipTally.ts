import type { Skipped } from "./log.ts";

const EXAMPLES = 3;
const CUT = 80;

/** Counts every line that gave no reading by its reason, and keeps the first few to show. */
export class SkipTally {
  readonly #reasons = new Map<string, { count: number; examples: { line: number; text: string }[] }>();
  total = 0;

  add(reason: string, line: number, text: string): void {
    let entry = this.#reasons.get(reason);
    if (entry === undefined) {
      entry = { count: 0, examples: [] };
      this.#reasons.set(reason, entry);
    }
    entry.count++;
    this.total++;
    if (entry.examples.length < EXAMPLES) entry.examples.push({ line, text: shown(text) });
  }

  done(): Skipped[] {
    return [...this.#reasons].map(([reason, { count, examples }]) => ({ reason, count, examples }));
  }
}

/** A line's text as it may be shown: control characters made visible, cut to a readable length. */
export function shown(text: string): string {
  const cut = text.length > CUT ? `${text.slice(0, CUT)}…` : text;
  return cut.replace(/[\u0000-\u001f\u007f-\u009f]/g, (c) => (c === "\t" ? "\t" : c === "\u0000" ? "␀" : "·"));
}
