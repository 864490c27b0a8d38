import type { CaptureRecord } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { oneIn } from "../signal/oneIn.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { ALL_CODES, type UsableCodes } from "../signal/usableCodes.ts";
import { fitStretch } from "./fitRecord.ts";
import { type Candidate, jumpsTogether } from "./jumpsTogether.ts";
import { phaseBlocks } from "./phaseBlocks.ts";
import { type PhaseStep, phaseSteps, wrap } from "./phaseSteps.ts";
import { CLOCK_ALLOWANCE, expectedCycles } from "./sampleRate.ts";
import { slowPhaseSteps } from "./slowPhaseSteps.ts";

/** With fewer blocks than the first there is nothing to compare; between both, a jump that the blocks do not show is looked for reading by reading. */
const LEAST_BLOCKS = 16;
const ENOUGH_BLOCKS = 40;

/** Longest record in which jumps are looked for together; phase blocks show those of a longer one. */
const LONGEST_TOGETHER = 1 << 16;

/** Jumps of phase in a sine record: by blocks; where these do not account for the record, all together; where blocks are too few and that finds none, reading by reading. */
export function jumpsOf(record: CaptureRecord, fit: SineFit, noise: number, usable: UsableCodes | null): PhaseStep[] {
  const { codes } = record;
  const blocks = phaseBlocks(codes, fit, usable);
  const byBlocks = blocks !== null && blocks.count >= LEAST_BLOCKS ? phaseSteps(blocks, fit, codes) : [];
  if (codes.length <= LONGEST_TOGETHER) {
    const whole = fitStretch(record, usable, [0, codes.length - 1]);
    const together = jumpsTogether(codes, whole, byBlocks, frequencies(record, fit), usable);
    if (together !== null) return together;
  }
  if (byBlocks.length > 0 || usable !== null || (blocks !== null && blocks.count >= ENOUGH_BLOCKS)) return byBlocks;
  return slowPhaseSteps(codes, fit, noise);
}

/** Frequencies that the tone may have: the stated one, and that of the stretch that fits best. */
function frequencies({ stimulus, spec, codes }: CaptureRecord, fit: SineFit): Candidate[] {
  const own = { cycles: fit.cyclesPerReading, allowed: 3 * fit.standard.cyclesPerReading + 1e-3 / codes.length };
  if (stimulus?.kind !== "sine" || stimulus.frequency === null || spec.sampleRate === null) return [own];
  const cycles = expectedCycles(stimulus.frequency, spec.sampleRate);
  const allowed = cycles * (stimulus.accuracy.frequency + CLOCK_ALLOWANCE) + 1e-3 / codes.length;
  if (!(cycles > 0 && cycles < 0.5)) return [own];
  return Math.abs(cycles - own.cycles) <= allowed ? [{ cycles, allowed }] : [{ cycles, allowed }, own];
}

/** The sine of the longest stretch between jumps, its phase carried back to before the first: what a record with several losses is held against. */
export function betweenJumps(
  record: CaptureRecord,
  fit: SineFit,
  steps: readonly PhaseStep[],
  usable: UsableCodes | null,
): SineFit {
  if (steps.length === 0) return fit;
  const edges = [0, ...steps.map((step) => step.at), record.codes.length];
  let longest = 0;
  for (let i = 1; i + 1 < edges.length; i++)
    if (edges[i + 1]! - edges[i]! > edges[longest + 1]! - edges[longest]!) longest = i;
  const own = fitStretch(record, usable, [edges[longest]!, edges[longest + 1]! - 1]);
  if (own === null) return fit;
  const jumped = steps.slice(0, longest).reduce((sum, step) => sum + step.step, 0);
  return { ...own, phase: wrap(own.phase - jumped) };
}

/** Readings that tell the typical deviation well enough. */
const ASKED = 4096;

/** Deviation of the bulk of readings from a tone, which a repeated block in a few of them does not enter; codes. */
export function typicalDeviation(codes: Int32Array, fit: SineFit, usable: UsableCodes | null): number {
  const stride = Math.max(1, Math.floor(codes.length / ASKED));
  return kernels.typicalDeviation(oneIn(stride, codes), fit, stride, usable ?? ALL_CODES);
}
