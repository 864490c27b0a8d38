import { kernels } from "../kernels/kernels.generated.js";
import type { Transitions } from "./transitions.ts";

/** A code narrower than this is missing: DNL ≤ −0.9. */
const NARROW = 0.1;

export interface MissingCodes {
  /** Surely missing: the record was long enough to have seen them. */
  readonly missing: readonly number[];
  /** May be missing: this record cannot tell. */
  readonly possiblyMissing: readonly number[];
}

/**
 * Codes that never come although the input passed over them. A code is called missing only where the upper bound of its width lies below 0.1 LSB: where the readings
 * were so dense that a code of 0.1 LSB would have been seen more often than this one was.
 * @param counts   readings of each code
 * @param gain     G, so that widths are those of DNL
 * Source: DESIGN §4 (DNL ≤ −0.9); METHODS 5; Garwood 1936 for the count's upper bound.
 */
export function missingCodes(tr: Transitions, counts: Float64Array, gain: number): MissingCodes {
  const { first } = tr;
  const found = kernels.missingCodes(tr, counts.subarray(first), gain, NARROW);
  const codes = (indices: Int32Array): number[] => Array.from(indices, (i) => first + i);
  return { missing: codes(found.missing), possiblyMissing: codes(found.possiblyMissing) };
}
