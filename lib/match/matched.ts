import type { Hertz, Ratio } from "../bench/units.ts";
import type { CaptureRecord, Stretch } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { Finding } from "./finding.ts";
import type { MainsLines } from "./mainsLines.ts";

export interface SampleRate {
  readonly value: Hertz;
  readonly basis: "stated" | "timestamps" | "timing" | "stimulus";
  /** About 95 % half-width; null when nothing states how well the basis is known. */
  readonly uncertainty: Hertz | null;
  /** The other bases and the loop's cost, each a sentence: "each reading takes 57.3 ADC clocks; …". */
  readonly remarks: readonly string[];
}

/** A record compared with its bench: the input of every measure. */
export interface MatchedRecord extends CaptureRecord {
  readonly sampleRate: SampleRate | null;
  /** Relative limit of the rate, for metrics per second or per hertz. */
  readonly rateLimit: Ratio;
  /** The record's sine, where the stimulus is one and the fit holds; codes as unit, over the longest clean stretch. */
  readonly fit: SineFit | null;
  /**
   * Stretches without lost or damaged readings, in order; [[0, M−1]] for a sound record. A histogram may use all of them together; a tone
   * is measured in the longest.
   */
  readonly clean: readonly Stretch[];
  /** Lines of the mains that stand out; null where none does. */
  readonly hum: MainsLines | null;
  readonly findings: readonly Finding[];
}
