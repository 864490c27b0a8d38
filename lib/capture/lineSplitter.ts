const LF = 10;
const CR = 13;

/**
 * Finds line ends as every kind of terminal and editor writes them: LF, CR LF, CR CR LF, LF CR, and CR alone.
 * @param take  called for each whole line with its first byte and the byte after its last
 * @param final  no more bytes will come: what is left is a line, and `terminated` is false for it
 * @returns where the first unfinished line begins
 */
export function splitLines(
  bytes: Uint8Array,
  from: number,
  to: number,
  final: boolean,
  state: { afterLineFeed: boolean },
  take: (start: number, end: number, terminated: boolean) => void,
): number {
  let start = from;
  let i = from;
  while (i < to) {
    const c = bytes[i]!;
    if (c === LF) {
      take(start, i, true);
      start = ++i;
      state.afterLineFeed = true;
      continue;
    }
    if (c !== CR) {
      i++;
      continue;
    }
    let run = i;
    while (run < to && bytes[run] === CR) run++;
    if (run === to && !final) return start;
    if (run < to && bytes[run] === LF) {
      take(start, i, true);
      start = i = run + 1;
      state.afterLineFeed = true;
      continue;
    }
    let cr = i;
    // LF CR: the CR only takes the cursor back.
    if (i === start && state.afterLineFeed) cr++;
    for (; cr < run; cr++) {
      take(cr === i ? start : cr, cr, true);
    }
    start = i = run;
    state.afterLineFeed = false;
  }
  if (final && start < to) {
    take(start, to, false);
    start = to;
  }
  return start;
}
