import { kernels } from "../lib/kernels/kernels.generated.js";
import { piecesOf } from "../lib/signal/readingsOf.ts";
import type { SineFit } from "../lib/signal/sineFit.ts";
import type { Envelope } from "./envelope.ts";

/** Which readings of a record stand for the sine: a sound stretch of it, and no code at or beyond the rails. */
export interface SinePart {
  readonly first: number;
  readonly last: number;
  readonly bottom: number;
  readonly top: number;
}

/** Smallest and largest value of each slice of a sine's period; NaN where no reading fell. */
export interface PeriodEnvelope {
  readonly low: Float64Array;
  readonly high: Float64Array;
}

/** A record about the sine fitted to it. */
export interface SineEnvelopes {
  /** Codes of the record laid over one period. */
  readonly codes: PeriodEnvelope;
  /** What is left of the part after the sine is taken away, in blocks of consecutive readings; NaN where a block holds no reading of the part. */
  readonly left: Envelope;
  /** The same laid over one period. */
  readonly leftOverPeriod: PeriodEnvelope & { readonly mean: Float64Array };
  /** Whether any reading of the record stands at or beyond the part's rails. */
  readonly railed: boolean;
}

/** No more readings than this are laid over the period: beyond it a slice only repeats itself. */
export const MOST_FOLDED = 4_000_000;

/**
 * All envelopes of a record about its sine in one pass over its codes; no peak is lost.
 * @param count.blocks       at most, of what is left of the part
 * @param count.codeSlices   of the period, for the codes
 * @param count.leftSlices   of the period, for what is left
 */
export function sineEnvelopes(
  codes: Int32Array,
  fit: SineFit,
  { first, last, bottom, top }: SinePart,
  count: { readonly blocks: number; readonly codeSlices: number; readonly leftSlices: number },
): SineEnvelopes {
  const readings = last - first + 1;
  const each = Math.max(1, Math.ceil(readings / count.blocks));
  const none = (n: number): Float64Array => new Float64Array(n).fill(Number.NaN);
  const blocks = Math.ceil(readings / each);
  let found: ReturnType<typeof kernels.addToSineEnvelopes> = {
    codeLow: none(count.codeSlices),
    codeHigh: none(count.codeSlices),
    blockLow: none(blocks),
    blockHigh: none(blocks),
    sliceLow: none(count.leftSlices),
    sliceHigh: none(count.leftSlices),
    sliceSum: new Float64Array(count.leftSlices),
    sliceCount: new Float64Array(count.leftSlices),
    railed: false,
  };
  const add = (start: number, end: number, ofPart: boolean): void => {
    for (const { from, to } of piecesOf(end - start)) {
      const piece = codes.subarray(start + from, start + to);
      const place = ofPart ? from : -1;
      found = kernels.addToSineEnvelopes(found, piece, fit, start + from, place, each, MOST_FOLDED, bottom, top);
    }
  };
  add(0, first, false);
  add(first, last + 1, true);
  add(last + 1, codes.length, false);
  const { sliceSum, sliceCount } = found;
  return {
    codes: { low: found.codeLow, high: found.codeHigh },
    left: { each, low: found.blockLow, high: found.blockHigh },
    leftOverPeriod: {
      low: found.sliceLow,
      high: found.sliceHigh,
      mean: sliceSum.map((sum, i) => sum / sliceCount[i]!),
    },
    railed: found.railed,
  };
}
