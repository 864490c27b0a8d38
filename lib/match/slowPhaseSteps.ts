import type { SineFit } from "../signal/sineFit.ts";
import type { PhaseStep } from "./phaseSteps.ts";
import { handover, slowPhaseStep } from "./slowPhaseStep.ts";

const MOST_STEPS = 20;
/** A shorter stretch is not cut again. */
const SHORTEST = 48;

/**
 * All jumps of phase in a record of few cycles: one is looked for, then again on both sides of it; at last each is measured between its neighbours.
 * @param noise  rms about the tone over short pieces, codes
 */
export function slowPhaseSteps(codes: Int32Array, reference: SineFit, noise: number): PhaseStep[] {
  const found: PhaseStep[] = [];
  const search = (first: number, last: number): void => {
    if (last - first + 1 < SHORTEST || found.length >= MOST_STEPS) return;
    const step = slowPhaseStep(codes.subarray(first, last + 1), reference, noise);
    if (step === null || step.at < 8 || step.at > last - first - 8) return;
    found.push({ ...step, at: first + step.at });
    search(first, first + step.at - 1);
    search(first + step.at, last);
  };
  search(0, codes.length - 1);
  if (found.length < 2) return found;
  found.sort((a, b) => a.at - b.at);
  return found.map((step, i) => {
    const first = found[i - 1]?.at ?? 0;
    const last = (found[i + 1]?.at ?? codes.length) - 1;
    const again = handover(codes.subarray(first, last + 1), reference.cyclesPerReading, step.at - first, 2);
    return again === null ? step : { ...again, at: first + again.at };
  });
}
