import type { MatchedRecord } from "../match/matched.ts";
import { neighbourTones } from "../match/neighbourTone.ts";
import { say } from "../match/say.ts";
import type { Random } from "../signal/random.ts";
import type { Measurement } from "./measurement.ts";

/**
 * What a tone leaves on the other channels of its log: 20·log10 of the amplitude at the tone's frequency over the tone's own, of the worst neighbour.
 * The interval is that of the neighbour's noise; where nothing stands out of it, the value is null and the upper bound stands alone.
 * Both channels are taken to have the same scale; their own gain errors (some per cent, 0.1 dB) are not in it.
 * Source: common practice.
 * @returns empty when the log has no other channel, or the record no tone
 */
export function measureCrosstalk(record: MatchedRecord, _random?: Random): Measurement {
  const { fit } = record;
  if (fit === null || record.stimulus?.kind !== "sine") return { estimates: {}, curves: {}, findings: [] };
  const tones = neighbourTones(record, fit);
  if (tones.length === 0) return { estimates: {}, curves: {}, findings: [] };
  const worst = tones.reduce((a, b) => (b.ratio + 2 * b.standard > a.ratio + 2 * a.standard ? b : a));
  const dB = (ratio: number): number => 20 * Math.log10(ratio);
  const low = worst.ratio - 1.96 * worst.standard;
  const high = dB(Math.max(worst.ratio, worst.standard) + 1.96 * worst.standard);
  const method = `amplitude on ${worst.channel} at the tone's frequency over the tone's on ${record.channel}${tones.length > 1 ? `, the worst of ${tones.length} neighbours` : ""}`;
  const base = { unit: "dB", method, limits: [] };
  return {
    estimates: {
      crosstalk: worst.isSignificant
        ? { ...base, value: dB(worst.ratio), low: low > 0 ? dB(low) : null, high }
        : {
            ...base,
            value: null,
            reason: `nothing stands out of the noise on ${worst.channel}: below ${say.number(high)} dB`,
            low: null,
            high,
          },
    },
    curves: {},
    findings: [],
  };
}
