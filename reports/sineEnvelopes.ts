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
  const none = (n: number): Float64Array => new Float64Array(2 * n).fill(Number.NaN);
  const ofCodes = none(count.codeSlices);
  const ofBlocks = none(Math.ceil(readings / each));
  const ofSlices = none(count.leftSlices);
  const sums = new Float64Array(2 * count.leftSlices);
  let railed = false;
  const add = (start: number, end: number, ofPart: boolean): void => {
    for (const { from, to } of piecesOf(end - start)) {
      const piece = codes.subarray(start + from, start + to);
      const place = ofPart ? from : -1;
      const atRail = kernels.addToSineEnvelopes(
        ofCodes,
        ofBlocks,
        ofSlices,
        sums,
        piece,
        fit,
        start + from,
        place,
        each,
        MOST_FOLDED,
        bottom,
        top,
      );
      railed ||= atRail;
    }
  };
  add(0, first, false);
  add(first, last + 1, true);
  add(last + 1, codes.length, false);
  const [sum, number] = apart(sums);
  return {
    codes: envelopeOf(ofCodes),
    left: { each, ...envelopeOf(ofBlocks) },
    leftOverPeriod: { ...envelopeOf(ofSlices), mean: sum.map((total, i) => total / number[i]!) },
    railed,
  };
}

/** Pairs as two columns. */
function apart(pairs: Float64Array): [Float64Array, Float64Array] {
  const first = new Float64Array(pairs.length / 2);
  const second = new Float64Array(pairs.length / 2);
  for (let i = 0; i < first.length; i++) {
    first[i] = pairs[2 * i]!;
    second[i] = pairs[2 * i + 1]!;
  }
  return [first, second];
}

function envelopeOf(pairs: Float64Array): PeriodEnvelope {
  const [low, high] = apart(pairs);
  return { low, high };
}
