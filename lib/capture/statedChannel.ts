import type { ReadingHints } from "../bench/bench.ts";
import { ProblemError } from "../bench/problem.ts";
import type { LogChannel } from "./log.ts";
import type { ReadingPlan } from "./readingPlan.ts";

/** The channel that was stated, where one was, alone or first before the others of its scan: by its name, its tag, its column's number, or its number among the channels. */
export function statedChannel(channels: LogChannel[], plan: ReadingPlan, hints: ReadingHints): LogChannel[] {
  if (hints.channel === undefined) return channels;
  const want = String(hints.channel).trim().toLowerCase();
  const tag = plan.layout === "tagged" ? plan.columns.find((c) => c.role === "tag") : undefined;
  const number = /^\d+$/.test(want) ? Number(want) : null;
  const found =
    channels.find((c) => c.name.toLowerCase() === want) ??
    (tag &&
      channels.find((c) => c.name.toLowerCase() === `${tag.named ? tag.name.toLowerCase() : "channel"} ${want}`)) ??
    (number !== null && plan.kind === "columns" ? channels.find((c) => c.column === number) : undefined) ??
    (number !== null && plan.kind !== "columns" ? channels[number - 1] : undefined) ??
    (channels.length === 1 && number === 1 ? channels[0] : undefined);
  // The other channels of a scan stay: crosstalk shows on them.
  if (found !== undefined && number === null && (hints.interleave?.length ?? 0) > 1)
    return [found, ...channels.filter((c) => c !== found)];
  if (found !== undefined) return [found];
  const names = new Set([...channels.map((c) => c.name), ...plan.columns.filter((c) => c.named).map((c) => c.name)]);
  throw new ProblemError([
    {
      code: "unknown-channel",
      file: null,
      line: null,
      key: "channel",
      found: `"${hints.channel}" is not in the log`,
      expected: `one of ${[...names]
        .slice(0, 20)
        .map((n) => `"${n}"`)
        .join(", ")}`,
    },
  ]);
}
