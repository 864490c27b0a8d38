import { FAULTS } from "./faults.ts";
import type { SimulatedCapture } from "./simulateCapture.ts";
import { SIMULATED_MARK } from "./writeLog.ts";

/**
 * What is true of simulated captures, as JSON beside their logs: transitions in volts, offset, gain, noise, what was applied, and every planted fault with its place
 * and the finding that must name it. Captures that saw the same converter share one entry of `converters`.
 */
export function truthRecord(captures: readonly SimulatedCapture[], seed: number): Record<string, unknown> {
  const converters: Record<string, unknown>[] = [];
  const keys: string[] = [];
  const entries = captures.map((capture) => {
    const { spec, truth, codes } = capture;
    const key = JSON.stringify([truth.converter, truth.scale]);
    let index = keys.indexOf(key);
    if (index < 0) {
      index = keys.push(key) - 1;
      const { scale, converter, transitions } = truth;
      converters.push({
        bits: scale.bits,
        low: scale.low,
        fullScaleRange: scale.fsr,
        lsb: scale.lsb,
        firstTransition: scale.firstTransition,
        planted: converter,
        // T[1], T[2], … in volts; a hundred-thousandth of an LSB is far below anything that could be measured.
        transitions: Array.from(transitions.subarray(1), (v) => round(v, scale.lsb * 1e-5)),
      });
    }
    return {
      name: spec.name,
      file: spec.file,
      readings: codes.length,
      sampleRate: truth.rate,
      converter: index,
      noiseLsb: truth.noise,
      appliedAtPin: applied(truth),
      planted: truth.planted
        .filter(({ fault }) => FAULTS[fault.name].finding !== null)
        .map(({ fault, where }) => ({
          fault: fault.name,
          size: fault.size,
          ...(fault.second === null ? {} : { second: fault.second }),
          unit: FAULTS[fault.name].unit,
          what: FAULTS[fault.name].sentence,
          readings: where,
          finding: FAULTS[fault.name].finding,
        })),
    };
  });
  return { schema: "codestair-truth/1", simulated: true, note: SIMULATED_MARK, seed, converters, captures: entries };
}

function applied(truth: SimulatedCapture["truth"]): Record<string, unknown> {
  const { stimulus, phase } = truth;
  switch (stimulus.kind) {
    case "sine":
      return {
        kind: "sine",
        frequency: stimulus.frequency,
        amplitude: stimulus.amplitude,
        offset: stimulus.offset,
        phase,
      };
    case "ramp":
      return { kind: "ramp", from: stimulus.from, to: stimulus.to };
    case "triangle":
      return { kind: "triangle", low: stimulus.low, high: stimulus.high, frequency: stimulus.frequency };
    case "steady":
      return { kind: "steady", voltage: stimulus.voltage };
    case "steps":
      return { kind: "steps", levels: stimulus.levels };
  }
}

/** A number rounded to a decimal step no coarser than `step`, so that the file stays short. */
function round(x: number, step: number): number {
  return Number(x.toFixed(Math.max(0, Math.min(15, Math.ceil(-Math.log10(step))))));
}
