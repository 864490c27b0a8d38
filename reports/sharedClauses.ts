export interface SharedClauses {
  /** What several methods have in common, each once, in the order of its first use. */
  readonly notes: readonly string[];
  /** The methods, with "[1]" where the first note belongs. */
  readonly texts: readonly string[];
}

/** Shorter clauses cost a reader less than looking up a note. */
const WORTH_A_NOTE = 24;

/**
 * Methods are clauses with "; " between them, and the figures of one capture repeat most of them: what stands in several is said once, as a note.
 * @example sharedClauses(["a 4-parameter sine fit over all readings; x", "a 4-parameter sine fit over all readings; y"])
 * // notes ["a 4-parameter sine fit over all readings"], texts ["[1]; x", "[1]; y"]
 */
export function sharedClauses(methods: readonly string[]): SharedClauses {
  const uses = new Map<string, number>();
  for (const method of methods)
    for (const clause of new Set(method.split("; "))) uses.set(clause, (uses.get(clause) ?? 0) + 1);
  const notes = [...uses].filter(([clause, n]) => n > 1 && clause.length >= WORTH_A_NOTE).map(([clause]) => clause);
  const short = (clause: string): string => {
    const at = notes.indexOf(clause);
    return at < 0 ? clause : `[${at + 1}]`;
  };
  return { notes, texts: methods.map((m) => m.split("; ").map(short).join("; ").replaceAll("]; [", "] [")) };
}
