import type { CaptureSpec } from "../bench/bench.ts";
import type { Hertz, Seconds } from "../bench/units.ts";
import { loopCost, timingRate } from "../match/sampleRate.ts";

/** How often one channel will be logged, and what a reading takes. */
export interface ReadingTime {
  /** Logged readings per second of one channel. */
  readonly rate: Hertz;
  readonly basis: "stated" | "timing";
  /** Time of one conversion by the timing bits; null without them. */
  readonly conversion: Seconds | null;
  /** Logged readings per second that the timing bits allow at most; null without them. */
  readonly fastest: Hertz | null;
  /** Most sampling clocks that a stated rate leaves room for; null where the rate is not stated or the bits are not. */
  readonly mostSampleCycles: number | null;
  /** The readings of one channel are not evenly spaced in time (a scan that stays for several readings). */
  readonly isUneven: boolean;
  readonly remarks: readonly string[];
  /** The stated rate is faster than the timing bits allow. */
  readonly isImpossible: boolean;
}

/**
 * The rate of a capture that is still to be taken: as stated, else by the converter's timing bits. Firmware that sums k readings logs one in k; a scan of m
 * channels logs each of them one time in m.
 * @returns null when neither sampleRate nor the timing bits are given
 * @example readingTime({ clock: 4 MHz, 24 + 15 cycles }) // 9.75 µs a reading, 102.56 kHz
 */
export function readingTime(spec: Pick<CaptureSpec, "converter" | "sampleRate" | "scan">): ReadingTime | null {
  const { converter, sampleRate, scan } = spec;
  const { timing, averaging } = converter;
  if (timing === null && sampleRate === null) return null;
  const summed = averaging?.readings ?? 1;
  const channels = scan?.order.length ?? 1;
  const conversions = timing === null ? null : timingRate(timing);
  const fastest = conversions === null ? null : conversions / (summed * channels);
  const rate = sampleRate ?? (fastest as Hertz);
  const remarks: string[] = [];
  if (summed > 1) remarks.push(`the firmware sums ${summed} readings into one logged code`);
  if (channels > 1) remarks.push(`${channels} channels take turns, so each is logged one time in ${channels}`);
  if (scan && scan.readingsPerVisit > 1)
    remarks.push(
      `${scan.readingsPerVisit} readings at each visit follow each other at the converter's pace, then pause: not evenly spaced`,
    );
  const isImpossible = fastest !== null && sampleRate !== null && sampleRate > fastest * (1 + 1e-6);
  // Between one logged reading and the next lie summed·channels conversions.
  if (timing !== null && sampleRate !== null) remarks.push(loopCost(timing, sampleRate * summed * channels));
  else if (timing !== null) remarks.push("by the timing bits alone; any time the loop adds would make it slower");
  return {
    rate,
    basis: sampleRate === null ? "timing" : "stated",
    conversion: conversions === null ? null : 1 / conversions,
    fastest,
    mostSampleCycles:
      timing === null || sampleRate === null
        ? null
        : Math.floor(
            timing.clock / (sampleRate * summed * channels) - timing.conversionCycles - timing.overheadCycles + 1e-9,
          ),
    isUneven: channels > 1 && (scan?.readingsPerVisit ?? 1) > 1,
    remarks,
    isImpossible,
  };
}
