import type { CaptureRecord } from "../capture/record.ts";
import type { Finding } from "./finding.ts";
import { ALL_METRICS } from "./metricGroups.ts";

/** The finding for a bit that never changes. @param text  how it was seen, with figures @param cause  where more is known than that a line does not work */
export function stuckBit(
  record: CaptureRecord,
  text: string,
  cause = "A data line that is open or shorted, a pin in the wrong mode, or a mask in the firmware.",
): Finding {
  return {
    id: "stuck-bit",
    severity: "error",
    text,
    cause,
    advice: "Probe that line while the input moves slowly; compare the register in a debugger with the log.",
    readings: [[0, record.codes.length - 1]],
    nulls: ALL_METRICS,
  };
}
