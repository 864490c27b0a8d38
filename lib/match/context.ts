import type { CaptureRecord, Stretch } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import type { ClippedEnd } from "./clipping.ts";
import type { Course } from "./driftingSine.ts";
import type { Finding } from "./finding.ts";
import type { MainsLines } from "./mainsLines.ts";
import type { SampleRate } from "./matched.ts";
import type { RateEvidence } from "./sampleRate.ts";
import type { Survey } from "./survey.ts";
import type { SweepModel } from "./sweepModel.ts";

/** What a detector may look at. */
export interface MatchContext {
  readonly record: CaptureRecord;
  readonly seen: Survey;
  /** The sine over the longest clean stretch; null where the stimulus is none, or no tone stands out. */
  readonly fit: SineFit | null;
  readonly rate: SampleRate | null;
  readonly evidence: RateEvidence;
  readonly clean: readonly Stretch[];
  /** Flattened ends of a sine. */
  readonly ends: readonly ClippedEnd[];
  /** Codes that say something about the signal: null where all do. */
  readonly usable: UsableCodes | null;
  /** Moves of a sine's middle and amplitude that stand out of the noise, of a record without damage. */
  readonly courses: readonly Course[];
  /** The triangle over the longest clean stretch; null where the stimulus is none, or none follows from the readings. */
  readonly triangle: SweepModel | null;
  /** Lines of the mains in what the stimulus leaves; null where none stands out. */
  readonly hum: MainsLines | null;
}

/** One family of findings. Its false-alarm rate over clean captures is stated beside its threshold. */
export type Detector = (context: MatchContext) => readonly Finding[];

/**
 * Chance of a false alarm that each statistical test allows itself over a whole clean capture. Some twenty tests run on a capture, so that all together stay
 * well below one in a hundred.
 */
export const FALSE_ALARM = 1e-5;
