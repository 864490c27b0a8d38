import type { Scale } from "../../lib/bench/scale.ts";
import type { MatchedRecord } from "../../lib/match/matched.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";

/** A matched record of a sine capture around given codes: only what measureTone looks at is filled in. */
export function toneRecord(
  codes: Int32Array,
  scale: Scale,
  options: {
    rate?: number | null;
    purity?: { thd: number | null; snr: number | null };
    clean?: MatchedRecord["clean"];
  } = {},
): MatchedRecord {
  const { rate = 50e3, purity = { thd: null, snr: null }, clean = [[0, codes.length - 1]] } = options;
  const top = scale.topCode;
  const railed = codes.some((c) => c <= 0 || c >= top);
  return {
    codes,
    scale,
    clean,
    channel: "adc0",
    stimulus: {
      kind: "sine",
      frequency: null,
      amplitude: null,
      offset: null,
      accuracy: { frequency: 0, amplitude: 0, offset: 0 },
      purity,
      limits: [],
      linearity: 0,
      repeatability: 0,
    },
    appliedVolts: null,
    sampleRate: rate === null ? null : { value: rate, basis: "stated", uncertainty: null, remarks: [] },
    rateLimit: 0,
    fit: fitSine(codes, railed ? { usable: { floor: 0, ceiling: top } } : {}),
    findings: [],
  } as Partial<MatchedRecord> as MatchedRecord;
}
