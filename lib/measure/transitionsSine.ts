import type { MatchedRecord } from "../match/matched.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { type PhaseStretch, phaseSweep } from "./transitionsPhases.ts";
import type { NoSweep, Sweep } from "./transitionsSweep.ts";
import { sineWaveform } from "./transitionsWaveform.ts";

/**
 * Lays a sine record out by phase: frequency and phase from a fit with the rails left out, each clean stretch with a phase of its own; the stated
 * amplitude and offset turn phase into volts.
 */
export function sineSweep(record: MatchedRecord): Sweep | NoSweep {
  const { codes, stimulus } = record;
  if (stimulus?.kind !== "sine") return { reason: "the stimulus is not a sine" };
  const fit = record.fit ?? railFreeFit(record);
  if (fit === null)
    return { reason: `no sine could be fitted to the ${codes.length} readings, so their phases are unknown` };
  if (!(fit.amplitude > 4 * fit.residualRms))
    return {
      reason: `the readings do not follow a sine: residual ${fit.residualRms.toFixed(1)} LSB rms at an amplitude of ${fit.amplitude.toFixed(1)} LSB`,
    };
  const sweep = layOut(record, fit, codes);
  if ("reason" in sweep || sweep.masked === null) return sweep;
  // Wrong readings pull at the phase: once they are known, it is fitted again without them.
  const better = railFreeFit({ ...record, codes: sweep.masked }, fit.cyclesPerReading);
  return better === null ? sweep : layOut(record, better, sweep.masked);
}

/** @param sound  the record's codes for fitting phases, wrong ones masked as rails are */
function layOut(
  { codes, scale, stimulus, clean }: MatchedRecord,
  fit: SineFit,
  sound: Int32Array,
): (Sweep & { readonly masked: Int32Array | null }) | NoSweep {
  if (stimulus?.kind !== "sine") return { reason: "the stimulus is not a sine" };
  const stretches: PhaseStretch[] = [];
  for (const [first, last] of clean) {
    if (clean.length === 1) {
      stretches.push({ first, last, frequency: fit.cyclesPerReading, start: turnOf(fit.phase) });
      continue;
    }
    // Lost readings between stretches shift the phase by an unknown amount. A stretch too short to tell its own phase is left out.
    if (last - first < 31) continue;
    const own = fitSine(sound, {
      frequency: fit.cyclesPerReading,
      fixed: true,
      first,
      last,
      usable: { floor: 0, ceiling: scale.topCode },
    });
    if (own !== null && own.amplitude > 4 * own.residualRms)
      stretches.push({ first, last, frequency: fit.cyclesPerReading, start: turnOf(own.phase) });
  }
  if (stretches.length === 0) return { reason: "no clean stretch is long enough to tell its phase" };
  const { amplitude, offset } = stimulus;
  const stated = amplitude !== null && offset !== null && amplitude > 0;
  const waveform = stated
    ? sineWaveform((offset - scale.low) / scale.lsb, amplitude / scale.lsb)
    : sineWaveform(fit.offset + scale.firstTransition - 0.5, fit.amplitude);
  return {
    kind: "sine",
    waveform,
    stated,
    basis: `sine histogram, phases of a ${fit.parameters}-parameter fit${clean.length > 1 ? `, ${stretches.length} stretches` : ""}`,
    ...phaseSweep(codes, scale.topCode, stretches, waveform),
  };
}

/** cos at phase 0 is at its highest: half a turn after the lowest input. */
const turnOf = (phase: number): number => phase / (2 * Math.PI) + 0.5;

function railFreeFit({ codes, scale, clean }: MatchedRecord, frequency?: number): SineFit | null {
  const longest = clean.reduce((a, b) => (b[1] - b[0] > a[1] - a[0] ? b : a), clean[0] ?? [0, codes.length - 1]);
  if (longest[1] - longest[0] < 8) return null;
  return fitSine(codes, {
    ...(frequency === undefined ? {} : { frequency }),
    first: longest[0],
    last: longest[1],
    usable: { floor: 0, ceiling: scale.topCode },
  });
}
