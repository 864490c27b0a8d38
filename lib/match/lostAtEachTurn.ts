import type { CaptureRecord, Stretch } from "../capture/record.ts";
import type { Finding } from "./finding.ts";
import { LINE_METRICS, SHAPE_METRICS, TONE_METRICS } from "./metricGroups.ts";
import type { PeriodicLoss } from "./periodicLoss.ts";
import { say } from "./say.ts";

/** Places marked in the plots. */
const MOST_MARKED = 200;

/** The finding for readings that are missing at every turn of a buffer; of such a record no tone, line or curve is stated. */
export function lostAtEachTurn({ codes }: CaptureRecord, loss: PeriodicLoss): Finding {
  const { every, first, within, missing, cyclesPerReading } = loss;
  const places: Stretch[] = [];
  for (let at = first; at < codes.length && places.length < MOST_MARKED; at += every)
    places.push([Math.max(0, at - 1 - within), Math.min(codes.length - 1, at + within)]);
  const period = 1 / cyclesPerReading;
  return {
    id: "readings-lost",
    severity: "error",
    text: `Every ${say.count(every)} readings ${say.plural(missing, "reading is", "readings are")} missing, first before reading ${say.count(first)}${within > 0 ? ` (±${say.count(within)})` : ""}: with ${missing === 1 ? "it" : "them"} counted, the stated tone fits to within ${say.lsb(loss.residualRms)} rms; as logged, one sine leaves ${say.lsb(loss.wholeRms)} and lies at another frequency than stated. Whole periods more (${say.number(period)} readings) would not show. No tone and no transfer curve is stated from such a record.`,
    cause: "Readings go on being produced while a full buffer is sent or stored, and are lost at each turn.",
    advice:
      "Use two buffers in turn, raise the baud rate, or make the record no longer than one buffer; a running number in the log shows where readings are missing.",
    readings: places,
    nulls: [...TONE_METRICS, ...LINE_METRICS, ...SHAPE_METRICS],
  };
}
