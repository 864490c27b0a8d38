import type { Scale } from "../../lib/bench/scale.ts";
import type { MatchedRecord } from "../../lib/match/matched.ts";

/** A matched record of a steady input around given codes, with only what the measure looks at. */
export function steadyRecord(codes: Int32Array, scale: Scale, rate: number | null = 1000): MatchedRecord {
  return {
    codes,
    scale,
    clean: [[0, codes.length - 1]],
    sampleRate: rate === null ? null : { value: rate, basis: "stated", uncertainty: null, remarks: [] },
    rateLimit: 0,
    findings: [],
    hum: null,
    fit: null,
    appliedVolts: null,
    channel: "adc0",
  } as unknown as MatchedRecord;
}
