import type { Stretch } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { Finding } from "./finding.ts";
import type { LossEvent } from "./lossEvent.ts";
import { LINE_METRICS, SHAPE_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";

/** Events told one by one in a finding's sentence. */
const TOLD = 3;

/** What a loss leaves of a record: stretches that still count, levels that only a list named, or a ramp whose voltages are not known any more. */
export type AfterLoss = "stretches" | "listed levels" | "ramp";

const AFTER: Readonly<Record<AfterLoss, string>> = {
  stretches: "each sound stretch is still used here.",
  "listed levels": "a column of applied voltages would keep the levels apart.",
  ramp: "a ramp has to be taken again.",
};

/** The finding for places where readings are missing. */
export function readingsLost(
  events: readonly LossEvent[],
  fit: SineFit | null,
  after: AfterLoss = "stretches",
): Finding[] {
  const losses = events.filter((e) => e.missing > 0);
  if (losses.length === 0) return [];
  const told = losses.slice(0, TOLD).map((e) => `${e.evidence}: ${missingOf(e, fit)}`);
  const rest = losses.length - told.length;
  const total = losses.reduce((sum, e) => sum + e.missing, 0);
  const sentence = `${told.join("; ")}${rest > 0 ? `; and ${say.plural(rest, "more place")}` : ""}`;
  const byPhase = losses.some((e) => e.evidence.includes("phase"));
  return [
    {
      id: "readings-lost",
      severity: "error",
      text: `${sentence.charAt(0).toUpperCase()}${sentence.slice(1)}${losses.length > 1 ? ` (${say.count(total)} readings in all, at least)` : ""}.${
        byPhase && fit !== null
          ? ` A loss of whole periods (${say.number(1 / fit.cyclesPerReading)} readings) would not show without time stamps or sequence numbers.`
          : ""
      }`,
      cause:
        "Readings were produced faster than they were sent: a serial buffer ran over, or an interrupt held the loop up.",
      advice:
        "Store the record in memory and print it afterwards, raise the baud rate, or log a running number; " +
        AFTER[after],
      readings: losses.map((e) => [Math.max(0, e.at - 1 - e.within), e.at + e.within] as const),
      nulls: after === "listed levels" ? [...LINE_METRICS, ...SHAPE_METRICS] : [],
    },
  ];
}

function missingOf(event: LossEvent, fit: SineFit | null): string {
  const { missing, alternatives } = event;
  if (alternatives.length === 0) return `${say.plural(missing, "reading is", "readings are")} missing`;
  const period = fit === null ? "" : `, modulo ${say.number(1 / fit.cyclesPerReading)} readings a period`;
  const others = alternatives.slice(0, 3).map((n) => say.count(n));
  const more = alternatives.length > 3 ? ", …" : "";
  return `${say.plural(missing, "reading is", "readings are")} missing (or ${others.join(", ")}${more}${period})`;
}

/** The finding for blocks and single readings that come again. */
export function readingsRepeated(events: readonly LossEvent[], stale: readonly Stretch[]): Finding[] {
  const blocks = events.filter((e) => e.repeated > 0);
  if (blocks.length === 0 && stale.length === 0) return [];
  const parts: string[] = [];
  if (blocks.length > 0) {
    const rest = blocks.length - Math.min(TOLD, blocks.length);
    parts.push(
      `${blocks
        .slice(0, TOLD)
        .map((e) => e.evidence)
        .join("; ")}${rest > 0 ? `; and ${say.plural(rest, "more block")}` : ""}`,
    );
  }
  if (stale.length > 0)
    parts.push(
      `${say.plural(stale.length, "reading shows", "readings show")} the one before again although the signal had moved on (${say.places(stale)})`,
    );
  const sentence = parts.join("; ");
  return [
    {
      id: "readings-repeated",
      severity: "error",
      text: `${sentence.charAt(0).toUpperCase()}${sentence.slice(1)}.`,
      cause: blocks.some((e) => e.isFrozen !== true)
        ? "A buffer was sent twice before the converter had filled it again."
        : "The register was read before a new conversion had ended.",
      advice:
        "Wait for the end-of-conversion flag, or exchange buffers only when they are full; log a running number to see it.",
      readings: [...blocks.map((e) => [e.at, e.at + e.repeated - 1] as const), ...stale].sort((a, b) => a[0] - b[0]),
      nulls: [],
    },
  ];
}

/**
 * The stretches between damaged places, in order. A repeated block is left out; a stretch of fewer than eight readings is no use to anyone.
 */
export function cleanStretches(readings: number, events: readonly LossEvent[]): Stretch[] {
  const stretches: Stretch[] = [];
  let start = 0;
  const close = (end: number): void => {
    if (end - start + 1 >= 8) stretches.push([start, end]);
  };
  for (const event of events) {
    close(event.at - 1 - event.within);
    start = Math.max(start, event.at + event.within + event.repeated);
  }
  close(readings - 1);
  return stretches.length > 0 ? stretches : [[0, Math.max(0, readings - 1)]];
}
