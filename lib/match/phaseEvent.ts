import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { equalBlock } from "./equalBlock.ts";
import type { LossEvent } from "./lossEvent.ts";
import { type PhaseStep, wrap } from "./phaseSteps.ts";
import { say } from "./say.ts";

/** rms about the fit below which noise does not smooth the quantiser: 1/√12 and a fifth of an LSB of noise. */
const QUIET = 0.36;
/** A jump of fewer standard deviations than this is weak evidence by itself. */
const WEAK = 12;
/** Cycles per reading below which one reading's advance is told from two, whatever distortion does. */
const SLOW = 0.02;
/** A jump, rad, that nearly all losses exceed unless one reading's advance is as small. */
const NEXT_TO_NONE = 0.02;
/** A few readings shown again are told from a loss of this many times as many. */
const MUCH_PLAINER = 10;
/** Readings around its place within which a slow tone's repetition is looked for: one more hardly moves its phase. */
const PLAINER_NEAR = 12;
/** Counts of lost readings that are tried for a jump of phase. */
const MOST_MISSING = 5000;

/** What a jump of phase means in readings; null where no whole number of readings explains it. */
export function phaseEvent(codes: Int32Array, fit: SineFit, noise: number, step: PhaseStep): LossEvent | null {
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  // A quiet quantiser's errors do not average out like noise: a jump must then move the signal by a code.
  if (noise < QUIET && Math.abs(step.step) * fit.amplitude < 1) return null;
  // Where a jump is only just above chance, less than one and a half readings must be one reading, and not the fraction left of many.
  const size = Math.abs(step.step);
  const weak = size < WEAK * step.standard;
  if (weak && size < 1.5 * omega && Math.abs(size - omega) > Math.max(3 * step.standard, 0.1 * omega)) return null;
  // Distortion bends the phase of a slow tone by a share of one reading's advance, which the noise does not know.
  const near = fit.cyclesPerReading < SLOW ? 0.12 * omega : 0;
  const counts = (sign: 1 | -1): number[] => {
    const found: number[] = [];
    for (let n = 1; n <= MOST_MISSING && found.length < 40; n++) {
      const u = Math.hypot(step.standard, 2 * Math.PI * n * fit.standard.cyclesPerReading, 1e-6);
      if (Math.abs(wrap(sign * omega * n - step.step)) <= Math.max(3 * u, near)) found.push(n);
    }
    return found;
  };
  const jump = `the phase of the fitted sine jumps by ${say.degrees(step.step)}`;
  // Where the signal hardly moves equal readings say nothing.
  const telling = Math.abs(step.step) * fit.amplitude > 4 * noise + 2;
  const missing = counts(1);
  for (const n of telling ? counts(-1).slice(0, 8) : []) {
    // One or two equal readings happen by chance unless the signal moves on; but so does a loss that ends so close to a whole period, which a repetition explains with far fewer readings.
    const moves = 2 * fit.amplitude * Math.abs(Math.sin((omega * n) / 2));
    const isPlainer = (missing[0] ?? Number.POSITIVE_INFINITY) > MUCH_PLAINER * n;
    if (n <= 3 && moves < 12 * noise + 6 && !isPlainer) continue;
    const at = equalBlock(
      codes,
      step.at,
      n,
      n > 3 ? step.within + 3 : isPlainer ? step.within + PLAINER_NEAR : step.within,
    );
    if (at !== null && ((n <= 3 && isPlainer) || movedOn(codes, fit, step, at, n, 4 * noise + 2)))
      return {
        at,
        within: 0,
        missing: 0,
        alternatives: [],
        repeated: Math.min(n, codes.length - at),
        evidence: `${jump} before reading ${say.count(at)}, and the ${say.plural(Math.min(n, codes.length - at), "reading")} from there show those ${n} before again`,
      };
  }
  if (missing.length === 0) return null;
  // A jump of far less than one reading's advance would be a loss that ends next to a whole period by chance, 0.6 % of losses: a source whose phase wanders makes
  // such jumps all the time.
  if (size < 0.5 * omega && size < NEXT_TO_NONE) return null;
  return {
    at: step.at,
    within: step.within,
    missing: missing[0]!,
    alternatives: missing.slice(1),
    repeated: 0,
    jump: step.step,
    evidence: `${jump} before reading ${say.count(step.at)}${step.within > 0 ? ` (±${say.count(step.within)})` : ""}`,
  };
}

/** Whether most of a repeated block's readings should have been others: where the tone hardly moves, equality says nothing. */
function movedOn(codes: Int32Array, fit: SineFit, step: PhaseStep, at: number, n: number, far: number): boolean {
  const omega = 2 * Math.PI * fit.cyclesPerReading;
  let moved = 0;
  // The phase at the block is not known from a fit across jumps; from the readings before it, it is.
  const before = fitSine(codes, {
    first: Math.max(0, at - Math.max(32, 2 * n)),
    last: at - 1,
    frequency: fit.cyclesPerReading,
    fixed: true,
  });
  if (before === null) return Math.abs(step.step) * fit.amplitude > far;
  const value = (i: number): number => before.offset + before.amplitude * Math.cos(omega * i + before.phase);
  const end = Math.min(at + n, codes.length);
  for (let i = at; i < end; i++) if (Math.abs(value(i) - value(i - n)) > far) moved++;
  return moved >= Math.max(1, 0.4 * (end - at));
}
