import type { CaptureSpec, Limit } from "../bench/bench.ts";

/** What grouping needs to know of a capture. */
export interface Grouped {
  readonly spec: CaptureSpec;
  readonly record: { readonly channel: string };
}

const plain = (name: string | number): string => String(name).trim().toLowerCase();

/** Whether a limit asks for this capture: by `capture:`, by `channel:`, or by naming neither. */
export function isMeant(limit: Limit, capture: Grouped): boolean {
  const { spec, record } = capture;
  if (limit.capture !== null && plain(limit.capture) !== plain(spec.name)) return false;
  if (limit.channel === null) return true;
  const wanted = plain(limit.channel);
  return (
    wanted === plain(record.channel) || (spec.reading.channel !== undefined && wanted === plain(spec.reading.channel))
  );
}

/**
 * Captures of the same channel at the same setting, which may stand in for each other when a limit is judged.
 * A setting is the converter with its overrides, the front end and the conditions. Channels count as different only when the bench file
 * names several of them: the same input is called one thing in a CSV and another in a serial dump.
 */
export function captureGroups<T extends Grouped>(captures: readonly T[]): readonly (readonly T[])[] {
  const named = new Set(
    captures.flatMap((c) => (c.spec.reading.channel === undefined ? [] : [plain(c.spec.reading.channel)])),
  );
  const groups = new Map<string, T[]>();
  for (const capture of captures) {
    const { converter, frontEnd, conditions } = capture.spec;
    const channel = named.size > 1 ? plain(capture.record.channel) : "";
    const sorted = Object.entries(conditions).sort(([a], [b]) => (a < b ? -1 : 1));
    // Coding and alignment are ways of writing a code down, not settings of the converter.
    const { coding, align, container, ...setting } = converter;
    const key = JSON.stringify([channel, setting, frontEnd, sorted]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [capture]);
    else group.push(capture);
  }
  return [...groups.values()];
}
