import type { MatchedRecord } from "../match/matched.ts";
import { noiseByInversions, type SortedRun, type SweepNoise } from "./transitionsNoise.ts";
import { countPhases } from "./transitionsPhases.ts";
import type { NoSweep, Sweep } from "./transitionsSweep.ts";
import { linearWaveform, type Waveform } from "./transitionsWaveform.ts";

/**
 * Lays a ramp record out: the first reading lies at `from`, the last at `to`, the others evenly between.
 * @returns a reason where readings are missing in the middle, so that the inputs after them are unknown
 */
export function rampSweep(record: MatchedRecord): Sweep | NoSweep {
  const { codes, scale, stimulus, clean } = record;
  if (stimulus?.kind !== "ramp") return { reason: "the stimulus is not a ramp" };
  if (clean.length !== 1)
    return { reason: "readings are missing within the ramp, so that the voltages after them are not known" };
  const [first, last] = clean[0]!;
  const steps = codes.length - 1;
  if (last - first < 8) return { reason: `${codes.length} readings; a ramp needs at least as many as there are codes` };
  if (stimulus.from === stimulus.to) return { reason: "the stated ramp ends where it begins" };
  const rises = stimulus.to > stimulus.from;
  const x = (volts: number): number => (volts - scale.low) / scale.lsb;
  const waveform = linearWaveform(x(Math.min(stimulus.from, stimulus.to)), x(Math.max(stimulus.from, stimulus.to)));
  const positionOf = (n: number): number => (rises ? n : steps - n) / steps;
  const follows = correlation(codes, first, last) * (rises ? 1 : -1);
  if (!(follows > FOLLOWS))
    return {
      reason: `the readings do not follow the stated ramp from ${stimulus.from} V to ${stimulus.to} V: correlation with it ${follows.toFixed(2)}`,
    };
  // Half a turn of a triangle.
  const half = { first, last, frequency: 0.5 / steps, start: rises ? 0 : 0.5 };
  const { both, leftOut } = countPhases(codes, scale.topCode, [half], waveform);
  return {
    kind: "ramp",
    waveform,
    stated: true,
    basis: `ramp histogram, first reading at ${stimulus.from} V, last at ${stimulus.to} V`,
    rising: null,
    falling: null,
    both,
    leftOut,
    noise: noiseOfRamp(codes, scale.topCode, first, last, positionOf, rises, waveform),
    course: { codes, first, last, inputAt: (n) => waveform.at(positionOf(n)) },
  };
}

/** A ramp that only just crosses the range, from rail to rail, still has a correlation of 0.87 with its own readings. */
const FOLLOWS = 0.8;

/** Correlation of codes with their index, from up to 65 536 of them; 0 when all are equal. */
function correlation(codes: Int32Array, first: number, last: number): number {
  const stride = Math.max(1, Math.floor((last - first) / 65_536));
  const count = Math.floor((last - first) / stride) + 1;
  let mean = 0;
  for (let i = 0; i < count; i++) mean += codes[first + i * stride]! / count;
  const middle = (count - 1) / 2;
  let xy = 0;
  let yy = 0;
  for (let i = 0; i < count; i++) {
    const y = codes[first + i * stride]! - mean;
    xy += (i - middle) * y;
    yy += y * y;
  }
  const xx = (count * (count * count - 1)) / 12;
  return yy > 0 ? xy / Math.sqrt(xx * yy) : 0;
}

const WINDOWS = 32;
const WINDOW = 2048;

/** Noise from WINDOWS runs of neighbouring readings, spread over the ramp at its full density; all of it where it is short. */
function noiseOfRamp(
  codes: Int32Array,
  topCode: number,
  first: number,
  last: number,
  positionOf: (n: number) => number,
  rises: boolean,
  waveform: Waveform,
): SweepNoise {
  const count = last - first + 1;
  const whole = count <= WINDOWS * WINDOW;
  const groups: SortedRun[] = [];
  for (let w = 0; w < (whole ? 1 : WINDOWS); w++) {
    const from = whole ? first : first + Math.floor((w / WINDOWS) * count);
    const to = whole ? last : from + WINDOW - 1;
    const inputs: number[] = [];
    const run: number[] = [];
    for (let i = 0; i <= to - from; i++) {
      const n = rises ? from + i : to - i;
      const input = waveform.at(positionOf(n));
      if (input < 1 || input > topCode) continue;
      inputs.push(input);
      run.push(Math.min(topCode, Math.max(0, codes[n]!)));
    }
    if (inputs.length > 1)
      groups.push({ inputs: Float64Array.from(inputs), codes: Int32Array.from(run), rails: [1, topCode] });
  }
  return noiseByInversions(groups);
}
