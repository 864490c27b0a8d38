import type { UsableCodes } from "../signal/usableCodes.ts";
import { agreementElsewhere } from "./chanceAgreement.ts";
import type { PhaseStep } from "./phaseSteps.ts";

/** The tone of a sine record, so that its own period is told from a repetition. */
export interface Tone {
  readonly cyclesPerReading: number;
  readonly amplitude: number;
  readonly phase: number;
  /** rms about it over short pieces, codes. */
  readonly noise: number;
  /** Typical deviation from it over the whole record: noise, the converter's curve, and a phase that wanders; codes. */
  readonly deviation: number;
  /** Level, and the codes between which it shows: on rails and plateaus all readings are alike. */
  readonly offset: number;
  readonly usable: UsableCodes | null;
  /** Where its phase jumps, and by how much: readings across a loss must not be held against one sine. */
  readonly steps: readonly PhaseStep[];
}

/** Readings of a block that are held against the tone. */
const MOST_ASKED = 64;
/** Equal readings that should differ; one may be an upset reading. */
const LEAST_TELLING = 4;
/** rms about the tone from which noise makes readings of the same phase differ: 0.3 LSB of noise and the quantiser's own. */
const NOISE_TELLS = 0.41;
/** Then readings of the same phase agree with at most this chance: 0.82 in the middle of a code at 0.3 LSB. */
const SAME_PHASE_CHANCE = 0.85;

/**
 * −ln of the chance that readings first…last of a tone agree with those `lag` before without any repetition; infinite where the tone itself says that they differ.
 * @param needed  evidence that counts; less is returned as 0 where more work would not help
 */
export function evidenceAgainstTone(
  codes: Int32Array,
  first: number,
  last: number,
  lag: number,
  tone: Tone,
  needed: number,
): number {
  const length = last - first + 1;
  // Where the tone itself says that the two readings differ by far more than noise, equality is no chance at all.
  const omega = 2 * Math.PI * tone.cyclesPerReading;
  const far = 8 * Math.max(tone.noise, tone.deviation) + 3;
  // Jumps between original and copy, but not the one that the repetition itself makes: a block sent twice at once, or one that ends in a jump back.
  const near = (step: PhaseStep, at: number): boolean => Math.abs(step.at - at) <= step.within + 3;
  const isCopy = length >= lag - 2 || tone.steps.some((step) => near(step, last + 1));
  let jumped = 0;
  for (const step of tone.steps)
    if (step.at > first - lag && step.at <= first + 3 && !(isCopy && near(step, first))) jumped += step.step;
  const floor = tone.usable?.floor ?? Number.NEGATIVE_INFINITY;
  const ceiling = tone.usable?.ceiling ?? Number.POSITIVE_INFINITY;
  const value = (theta: number): number =>
    Math.max(floor, Math.min(ceiling, tone.offset + tone.amplitude * Math.cos(theta)));
  // The original's phase is that of its own stretch.
  let before = tone.phase;
  for (const step of tone.steps) if (step.at <= first - lag) before += step.step;
  // The most that the lag alone can move the tone; then a sample of the readings tells.
  const most = 2 * tone.amplitude * Math.abs(Math.sin((omega * lag + jumped) / 2));
  let telling = 0;
  const stride = Math.max(1, Math.floor(length / MOST_ASKED));
  for (let i = first; most > far && i <= last; i += stride) {
    const now = value(omega * i + before + jumped);
    if (Math.abs(now - value(omega * (i - lag) + before)) > far) telling++;
  }
  if (telling >= LEAST_TELLING) return Number.POSITIVE_INFINITY;
  // A lag of whole periods: only noise can tell, and a quiet record has none.
  if (tone.noise < NOISE_TELLS || -length * Math.log(SAME_PHASE_CHANCE) < needed) return 0;
  // On a rail, or a quiet peak, readings are all alike: only where the code differs from one of nearly the same phase has noise had a say. Near half the rate that is the reading before the last.
  const back = likePhase(tone.cyclesPerReading);
  let changes = 0;
  for (let i = first; i <= last; i++) if (i >= back && codes[i] !== codes[i - back]) changes++;
  return -changes * Math.log(Math.max(SAME_PHASE_CHANCE, agreementElsewhere(codes, first, last, lag)));
}

/** Readings back to the one whose phase is nearest, of the last few. */
const MOST_BACK = 4;

function likePhase(cycles: number): number {
  let best = 1;
  const away = (lag: number): number => Math.abs(cycles * lag - Math.round(cycles * lag));
  for (let lag = 2; lag <= MOST_BACK; lag++) if (away(lag) < 0.5 * away(best)) best = lag;
  return best;
}
