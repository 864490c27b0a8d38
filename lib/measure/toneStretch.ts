import type { Stretch } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import type { MatchedRecord } from "../match/matched.ts";
import { piecesOf } from "../signal/readingsOf.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { distinctPhases } from "./toneFold.ts";

/** The readings that a tone is measured over, with the sine fitted to all of them; or why this record supports no tone metric. */
export type ToneStretch =
  | { readonly stretch: Stretch; readonly codes: Int32Array; readonly fit: SineFit; readonly reason: null }
  | { readonly reason: string };

/** Below this the fit's four parameters take most of what there is. */
const FEWEST_READINGS = 16;
/** Four phases and four parameters: nothing would be left. */
const FEWEST_PHASES = 5;

/**
 * Picks the longest stretch without lost or damaged readings and fits it whole, its phase counted from the stretch's first reading.
 * Not fitted: a tone that clips. Readings at the rails are no harm while the sine itself stays inside (noise reaches them); they are when
 * the sine passes them
 * by so much that what was cut off shows in the residual.
 */
export function toneStretch(record: MatchedRecord): ToneStretch {
  const { codes: all, clean, fit: matched, scale } = record;
  if (matched === null)
    return { reason: `no sine stands out of the ${count(all.length)} readings, so there is no tone to measure` };
  const longest = clean.reduce<Stretch>((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best), clean[0] ?? [0, -1]);
  const codes = all.subarray(longest[0], longest[1] + 1);
  const readings = codes.length;
  if (readings < FEWEST_READINGS)
    return {
      reason: `${count(readings)} readings without a gap; at least ${FEWEST_READINGS} are needed for a tone, 60 for its harmonics`,
    };
  // The matched fit, its phase counted from the stretch's first reading.
  const here = { ...matched, phase: matched.phase + 2 * Math.PI * matched.cyclesPerReading * longest[0] };
  const clipped = clipping(codes, here, scale.topCode);
  if (clipped !== null) return { reason: clipped };
  const fit = here.readings === readings ? here : fitAgain(codes, here);
  if (fit === null) return { reason: "no sine fits the readings" };
  const cycles = Math.min(fit.cyclesPerReading, 0.5 - fit.cyclesPerReading) * readings;
  if (cycles < 1)
    return {
      reason: `${(fit.cyclesPerReading * readings).toPrecision(3)} cycles of the tone in ${count(readings)} readings; a whole cycle is needed to tell the tone from ${fit.cyclesPerReading < 0.25 ? "DC" : "half the sample rate"}`,
    };
  const phases = distinctPhases(fit.cyclesPerReading, readings);
  if (phases !== null && phases < FEWEST_PHASES)
    return {
      reason: fewPhases(phases, FEWEST_PHASES),
    };
  return { stretch: longest, codes, fit, reason: null };
}

/** Fits the stretch, or some of its codes, starting at a fit of more or fewer of its readings. */
function fitAgain(codes: Int32Array, fit: SineFit, usable?: UsableCodes): SineFit | null {
  return fitSine(codes, {
    frequency: fit.cyclesPerReading,
    fixed: fit.parameters === 3,
    ...(usable === undefined ? {} : { usable }),
    // A fit of a small part (a record with its phase broken) may be half a turn off at the far end.
    ...(2 * fit.readings > codes.length ? { near: fit } : {}),
  });
}

/** Why a tone that meets the converter at so few phases shows nothing, and what helps. */
export function fewPhases(phases: number, fewest: number): string {
  return `the readings meet the tone at only ${phases} phases again and again; at least ${fewest} are needed to see noise and distortion apart from it (another frequency gives them)`;
}

/** The same for a short record near a simple ratio of frequency to rate. */
export function clusteredPhases(worth: number, fewest: number): string {
  return `the readings meet the tone in clusters of phases worth ${worth.toFixed(0)} evenly spread ones; at least ${fewest} are needed to see the converter's error between them (another frequency or a longer record gives them)`;
}

/** Cut-off power of this share of the residual's is what 0.4 dB comes from. */
const CUT_SHARE = 0.1;

function clipping(codes: Int32Array, inside: SineFit, top: number): string | null {
  let railed = 0;
  for (const { from, to } of piecesOf(codes.length)) railed += kernels.railedReadings(codes.subarray(from, to), top);
  if (railed === 0) return null;
  // The matched fit leaves the rails out already.
  const isOfTheseReadings = inside.readings === codes.length - railed;
  const fit = isOfTheseReadings ? inside : fitAgain(codes, inside, { floor: 0, ceiling: top });
  if (fit === null)
    return `the stimulus clips: ${count(railed)} of ${count(codes.length)} readings at the rails; a sine that stays within the range would show it`;
  // An ideal converter's end codes reach half a code beyond themselves.
  const beyond = Math.max(-0.5 - (fit.offset - fit.amplitude), fit.offset + fit.amplitude - (top + 0.5));
  if (beyond <= 0) return null;
  let cut = 0;
  const f = fit.cyclesPerReading;
  for (let n = 0; n < codes.length; n++) {
    if (codes[n]! > 0 && codes[n]! < top) continue;
    const v = fit.offset + fit.amplitude * Math.cos(2 * Math.PI * (f * n - Math.floor(f * n)) + fit.phase);
    cut += Math.max(0, -0.5 - v, v - (top + 0.5)) ** 2;
  }
  if (cut / codes.length <= CUT_SHARE * fit.residualRms ** 2) return null;
  return `the stimulus clips: ${count(railed)} of ${count(codes.length)} readings at the rails, the sine passes them by ${Number(beyond.toPrecision(2))} LSB; one that stays within the range would show it`;
}

/** A number of readings as people write it: thousands apart. */
function count(n: number): string {
  return String(n).replace(/\B(?=(\d{3})+$)/g, " ");
}
