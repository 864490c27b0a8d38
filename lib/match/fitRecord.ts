import type { CaptureRecord, Stretch } from "../capture/record.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { statedCycles } from "./sampleRate.ts";

/** A remainder of more than this share of the amplitude is worth asking whether a part of the record fits better. */
export const POOR = 0.03;

/** The sine of a stretch of a record whose stimulus is one, unusable codes left out; null where no sine stands out of what is left. */
export function fitStretch(record: CaptureRecord, usable: UsableCodes | null, [first, last]: Stretch): SineFit | null {
  if (record.stimulus?.kind !== "sine" || last - first < 4) return null;
  const key = `${first} ${last} ${usable?.floor} ${usable?.ceiling}`;
  const fits = known.get(record) ?? new Map<string, SineFit | null>();
  known.set(record, fits);
  const before = fits.get(key);
  if (before !== undefined) return before;
  const fit = fitAnew(record, usable, [first, last]);
  fits.set(key, fit);
  return fit;
}

/** A sound record is asked for the fit of its whole more than once, and each fit passes over all readings. */
const known = new WeakMap<CaptureRecord, Map<string, SineFit | null>>();

function fitAnew(record: CaptureRecord, usable: UsableCodes | null, [first, last]: Stretch): SineFit | null {
  const { codes } = record;
  const fit = fitAsStated(record, usable, [first, last]) ?? fitSine(codes, { first, last, usable });
  // Less than noise of its own size: the largest line of a record that holds no tone.
  return fit !== null && fit.amplitude > fit.residualRms * noToneFactor(fit.readings) ? fit : null;
}

/** Cycles from which on sines of different frequency hardly explain each other, and the share of the tone's power that may be left. */
const SEPARATE_CYCLES = 4;
const LITTLE = 0.05;

/**
 * The fit that begins at the frequency as it is stated: where that explains almost all of the readings no other sine explains more (a side lobe of the frequency that is there
 * explains a twentieth), and the frequency need not be searched for.
 */
function fitAsStated(record: CaptureRecord, usable: UsableCodes | null, [first, last]: Stretch): SineFit | null {
  const frequency = statedCycles(record);
  if (frequency === null) return null;
  const isSeparate = (f: number): boolean => Math.min(f, 0.5 - f) * (last - first + 1) >= SEPARATE_CYCLES;
  if (!isSeparate(frequency)) return null;
  const fit = fitSine(record.codes, { first, last, usable, frequency });
  return fit !== null && isSeparate(fit.cyclesPerReading) && fit.residualRms ** 2 < (LITTLE * fit.amplitude ** 2) / 2
    ? fit
    : null;
}

/** Pieces of one length that are tried, and the shortest. */
const PIECES = 5;
const SHORTEST = 48;
/** Cycles without which a piece does not know its frequency. */
const LEAST_CYCLES = 1.5;

/**
 * A sine to hold a possibly broken record against: the fit of the whole, or of the piece that fits best where the whole fits poorly (a record with its phase
 * broken has no one sine). Pieces are a quarter of the record, and halved until one fits well or is too short to know its frequency: readings lost at every
 * turn of a buffer leave only short ones whole.
 */
export function referenceFit(record: CaptureRecord, usable: UsableCodes | null): SineFit | null {
  const { codes } = record;
  const whole = fitStretch(record, usable, [0, codes.length - 1]);
  const isPoor = (fit: SineFit | null): boolean => fit === null || fit.residualRms >= POOR * fit.amplitude;
  if (codes.length < 64 || !isPoor(whole)) return whole;
  let best = whole;
  let enough = 0.7;
  for (let length = Math.min(1 << 16, Math.floor(codes.length / 4)); length >= SHORTEST && isPoor(best); length >>= 1) {
    for (let i = 0; i < PIECES; i++) {
      const first = Math.floor((i * (codes.length - length)) / (PIECES - 1));
      const part = fitStretch(record, usable, [first, first + length - 1]);
      if (part === null || part.cyclesPerReading * length < LEAST_CYCLES) continue;
      if (best === null || part.residualRms < enough * best.residualRms) best = part;
    }
    // The fewer readings, the more of them are close to a sine by chance: half the rms on 48 has a chance of 1e-9.
    enough = 0.5;
  }
  return best;
}

/**
 * The largest of M/2 lines of white noise has an amplitude of about 2σ·√(ln(M/2)/M); a line below 1.5 times that is no tone. False alarms about
 * (M/2)^−1.25; a tone 3.5 dB above the noise's highest line is kept.
 */
function noToneFactor(readings: number): number {
  return 3 * Math.sqrt(Math.log(Math.max(2, readings / 2)) / readings);
}
