const LF = 10;
const CR = 13;

/** Where a line ends, filled in by nextLine; kept from line to line. */
export interface LineCursor {
  /** The line before ended in LF: a CR right behind it only takes the cursor back. */
  afterLineFeed: boolean;
  /** First byte of the line found. */
  start: number;
  /** The byte after its last. */
  end: number;
  /** Where the next line begins. */
  next: number;
  /** Ended by a line end, not by the end of the log. */
  terminated: boolean;
}

export function lineCursor(): LineCursor {
  return { afterLineFeed: false, start: 0, end: 0, next: 0, terminated: true };
}

/**
 * Finds the next line end as every kind of terminal and editor writes them: LF, CR LF, CR CR LF, LF CR, and CR alone.
 * @param final  no more bytes will come: what is left is a line
 * @returns false when no whole line is there; `cursor.next` is then where the unfinished line begins
 */
export function nextLine(bytes: Uint8Array, from: number, to: number, final: boolean, cursor: LineCursor): boolean {
  let start = from;
  cursor.next = from;
  for (let i = start; i < to; i++) {
    const c = bytes[i]!;
    if (c === LF) {
      cursor.afterLineFeed = true;
      return found(cursor, start, i, i + 1, true);
    }
    if (c !== CR) continue;
    let run = i;
    while (run < to && bytes[run] === CR) run++;
    if (run === to && !final) return false;
    if (run < to && bytes[run] === LF) {
      cursor.afterLineFeed = true;
      return found(cursor, start, i, run + 1, true);
    }
    const behindLineFeed = i === start && cursor.afterLineFeed;
    cursor.afterLineFeed = false;
    if (!behindLineFeed) return found(cursor, start, i, i + 1, true);
    start = cursor.next = i + 1;
  }
  if (final && start < to) return found(cursor, start, to, to, false);
  cursor.next = start;
  return false;
}

function found(cursor: LineCursor, start: number, end: number, next: number, terminated: boolean): true {
  cursor.start = start;
  cursor.end = end;
  cursor.next = next;
  cursor.terminated = terminated;
  return true;
}
