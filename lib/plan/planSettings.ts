import type { Bench, CaptureSpec } from "../bench/bench.ts";
import { scaleOf } from "../bench/scale.ts";
import type { Decibels, Lsb, Volts } from "../bench/units.ts";
import { bitsOfSinad, combineSnr, idealSnr, kTCNoise, ROOM_TEMPERATURE } from "./noiseBounds.ts";
import { type ReadingTime, readingTime } from "./readingTime.ts";
import { type SerialLoad, serialLoad } from "./serialLine.ts";
import { type Settling, settling } from "./settling.ts";

/** What depends on the converter's setting alone, whatever is applied. */
export interface SettingPlan {
  /** Names of the captures it holds for. */
  readonly captures: readonly string[];
  readonly rate: ReadingTime | null;
  readonly settling: Settling | null;
  readonly capacitorNoise: CapacitorNoise | null;
  readonly serial: SerialLoad | null;
}

/** kT/C noise of the sampling capacitor, and the ENOB that it leaves an otherwise ideal converter. */
export interface CapacitorNoise {
  readonly kelvin: number;
  readonly volts: Volts;
  readonly lsb: Lsb;
  /** A full-scale sine against this noise alone. */
  readonly snr: Decibels;
  /** With quantisation. */
  readonly bits: number;
}

/** One plan a distinct setting, in the captures' order. */
export function planSettings(bench: Bench): SettingPlan[] {
  const groups = new Map<string, CaptureSpec[]>();
  for (const spec of bench.captures) {
    const key = JSON.stringify([spec.converter, spec.sampleRate, spec.scan]);
    groups.set(key, [...(groups.get(key) ?? []), spec]);
  }
  return [...groups.values()].map((specs) => {
    const spec = specs[0]!;
    const rate = readingTime(spec);
    const channels = spec.scan?.order.length ?? 1;
    return {
      captures: specs.map((s) => s.name),
      rate,
      settling: settling(spec.converter),
      capacitorNoise: capacitorNoise(spec),
      serial:
        bench.serial === null || rate === null
          ? null
          : serialLoad(bench.serial, rate.rate * channels, scaleOf(spec.converter).topCode),
    };
  });
}

function capacitorNoise(spec: CaptureSpec): CapacitorNoise | null {
  const { sampleCapacitance } = spec.converter.input;
  if (sampleCapacitance === null) return null;
  const { fsr, lsb, bits } = scaleOf(spec.converter);
  // Summing k readings and scaling back divides independent noise by √k.
  const volts = kTCNoise(sampleCapacitance) / Math.sqrt(spec.converter.averaging?.readings ?? 1);
  const snr = 20 * Math.log10(fsr / (2 * Math.SQRT2) / volts);
  return {
    kelvin: ROOM_TEMPERATURE,
    volts,
    lsb: volts / lsb,
    snr,
    bits: bitsOfSinad(combineSnr([snr, idealSnr(bits)])),
  };
}
