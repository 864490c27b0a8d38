import type { CaptureRecord, Stretch } from "../capture/record.ts";
import { fitTriangle, type TriangleFit } from "../signal/triangleFit.ts";
import { plateaus } from "./clipping.ts";
import type { Survey } from "./survey.ts";

/** A ramp's line or a triangle fitted to the codes of a record, flattened ends and rails left out. In codes; turns and frequency per reading. */
export interface SweepModel {
  /** Middle and half span: of a triangle between its apexes, of a ramp between the first and the last reading. */
  readonly offset: number;
  readonly amplitude: number;
  /** Codes a reading. */
  readonly slope: number;
  readonly residualRms: number;
  readonly readings: number;
  /** Standard uncertainties of offset and amplitude, codes. */
  readonly offsetStandard: number;
  readonly amplitudeStandard: number;
  /** Of a triangle: cycles per reading and the turn of reading 0, lowest at 0; null for a ramp. */
  readonly period: { readonly frequency: number; readonly start: number } | null;
}

/** A model's triangle, as kernels take it. */
export function triangleOf({ period, offset, amplitude }: SweepModel): Triangle {
  return { ...(period ?? { frequency: 0, start: 0 }), offset, amplitude };
}

/** Turns and frequency per reading, `start` the turn of reading 0, lowest at 0; codes. */
export interface Triangle {
  readonly frequency: number;
  readonly start: number;
  readonly offset: number;
  readonly amplitude: number;
}

/** Share of the span next to a flattened end that is left out with it: its noise and rounding. */
const BESIDE_PLATEAU = 0.03;

/** Codes strictly between which a ramp or triangle moves: inside the rails and any plateau. */
export function movingCodes(record: CaptureRecord, seen: Survey): { floor: number; ceiling: number } {
  let floor = 0;
  let ceiling = record.scale.topCode;
  const margin = Math.max(2, BESIDE_PLATEAU * (seen.max - seen.min));
  for (const { edge } of plateaus(record, seen)) {
    if (edge === seen.max) ceiling = Math.min(ceiling, edge - margin);
    else floor = Math.max(floor, edge + margin);
  }
  return { floor, ceiling };
}

/** Cycles per reading of a triangle, where its frequency and the rate are stated. */
export function statedTurns({ stimulus, spec }: CaptureRecord): number | null {
  if (stimulus?.kind !== "triangle" || stimulus.frequency === null || spec.sampleRate === null) return null;
  const cycles = stimulus.frequency / spec.sampleRate;
  return cycles > 0 && cycles < 0.5 ? cycles : null;
}

/** A model that leaves more than this share of its half span is none: readings are missing in it, or it is no such signal. */
const FOLLOWS = 0.1;

/**
 * The triangle over one stretch of a record.
 * @returns null where the stimulus is no triangle, or none follows from the readings
 */
export function triangleModel(
  record: CaptureRecord,
  moving: { floor: number; ceiling: number },
  [first, last]: Stretch,
): SweepModel | null {
  const { codes, stimulus } = record;
  if (stimulus?.kind !== "triangle" || last - first < 40) return null;
  const known = statedTurns(record);
  const fitted = (fixed: boolean): TriangleFit | null => {
    const fit = fitTriangle(codes, moving.ceiling, first, last, known, fixed, moving.floor);
    return fit !== null && fit.residualRms < FOLLOWS * fit.amplitude ? fit : null;
  };
  // Frequencies beyond half the rate, or of less than half a cycle in the record, are no triangle that could be told.
  const free = fitted(false);
  const isTold = free !== null && free.frequency > 0 && free.frequency < 0.5 && free.frequency * (last - first) >= 0.5;
  // About one apex alone size and frequency cannot be told apart: there the stated frequency holds.
  const fit = isTold ? free : known === null ? null : fitted(true);
  if (fit === null) return null;
  const { frequency, start, offset, amplitude, residualRms, offsetStandard, amplitudeStandard } = fit;
  return {
    offset,
    amplitude,
    slope: 4 * amplitude * frequency,
    residualRms,
    readings: last - first + 1,
    offsetStandard,
    amplitudeStandard,
    period: { frequency, start },
  };
}
