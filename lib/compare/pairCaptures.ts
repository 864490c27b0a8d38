import type { ResultCapture } from "../result.ts";
import { channelsDiffer } from "./channelsDiffer.ts";

/** Two captures that show the same thing, before and after. */
export interface CapturePair {
  readonly first: ResultCapture;
  readonly second: ResultCapture;
}

export interface Pairing {
  readonly pairs: readonly CapturePair[];
  readonly onlyFirst: readonly ResultCapture[];
  readonly onlySecond: readonly ResultCapture[];
}

/** The kind of a capture's stimulus; "" where the bench stated none. */
function stimulusKind(capture: ResultCapture): string {
  const kind = capture.stimulus?.kind;
  return typeof kind === "string" ? kind : "";
}

/**
 * Pairs the captures of two results: by name; then those of the same stimulus kind on the same channel, in order; then those of the same kind
 * where one is left on each side. A pair by name must show the same kind of stimulus.
 */
export function pairCaptures(first: readonly ResultCapture[], second: readonly ResultCapture[]): Pairing {
  const left = [...first];
  const right = [...second];
  const found = new Map<ResultCapture, ResultCapture>();
  const take = (a: ResultCapture, matches: (b: ResultCapture) => boolean): void => {
    const index = right.findIndex(matches);
    if (index < 0) return;
    found.set(a, right.splice(index, 1)[0]!);
    left.splice(left.indexOf(a), 1);
  };
  for (const a of [...left]) take(a, (b) => b.name === a.name && stimulusKind(b) === stimulusKind(a));
  for (const a of [...left])
    take(a, (b) => !channelsDiffer(a.channel, b.channel) && stimulusKind(b) === stimulusKind(a));
  for (const a of [...left]) {
    const kind = stimulusKind(a);
    const lone = [left, right].every((side) => side.filter((c) => stimulusKind(c) === kind).length === 1);
    if (lone) take(a, (b) => stimulusKind(b) === kind);
  }
  return {
    pairs: first.flatMap((a) => (found.has(a) ? [{ first: a, second: found.get(a)! }] : [])),
    onlyFirst: left,
    onlySecond: right,
  };
}
