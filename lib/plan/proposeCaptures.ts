import type { Bench, CaptureSpec, LevelAccuracy, Stimulus } from "../bench/bench.ts";
import { atSource } from "../bench/pinStimulus.ts";
import { scaleOf } from "../bench/scale.ts";
import { judgingCapture, metricFamily } from "./judgingCapture.ts";

/** Share of the range's half that a proposed tone takes: −0.35 dBFS, so that a small offset does not clip it. */
const TONE_SHARE = 0.96;

const EXACT: LevelAccuracy = { gain: 0, offset: 0, linearity: 0, repeatability: 0 };

/**
 * Captures that the bench file's limits need and that it does not have: a tone, an overdriven sine for the histogram, a steady voltage. Frequencies
 * and the overdriven amplitude are left to the plan.
 * @returns only the new ones, with names the bench does not use yet
 */
export function proposeCaptures(bench: Bench): CaptureSpec[] {
  const lacking = new Set(
    bench.limits.filter((l) => l.capture === null && judgingCapture(bench.captures, l) === null).map(metricFamily),
  );
  const names = new Set(bench.captures.filter((spec) => spec.stimulus !== null).map((spec) => spec.name));
  const scale = scaleOf(bench.converter);
  const front = { frontEnd: bench.frontEnd };
  const rounded = (volts: number): number => Number(volts.toPrecision(3));
  const middle = rounded(atSource(front, scale.low + scale.fsr / 2));
  const half = scale.fsr / 2 / Math.abs(bench.frontEnd?.gain ?? 1);
  const sine = (amplitude: number | null): Stimulus => ({
    kind: "sine",
    frequency: null,
    amplitude,
    offset: middle,
    accuracy: { frequency: 0, amplitude: 0, offset: 0 },
    purity: { thd: null, snr: null },
  });
  const proposals: CaptureSpec[] = [];
  const add = (wanted: string, use: CaptureSpec["use"], stimulus: Stimulus): void => {
    let name = wanted;
    for (let n = 2; names.has(name); n++) name = `${wanted} ${n}`;
    const { converter, frontEnd, conditions } = bench;
    const [first] = bench.captures;
    proposals.push({
      name,
      file: `${name.replace(/ /g, "-")}.csv`,
      converter,
      frontEnd,
      stimulus,
      sampleRate: first?.sampleRate ?? null,
      use,
      conditions,
      reading: {},
      scan: null,
    });
  };
  if (lacking.has("tone")) add("tone", ["tone"], sine(rounded(TONE_SHARE * half)));
  if (lacking.has("static")) add("histogram", ["histogram"], sine(null));
  if (lacking.has("noise")) add("steady", null, { kind: "steady", voltage: middle, accuracy: EXACT });
  return proposals;
}
