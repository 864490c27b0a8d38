import type { SourceLimit } from "../bench/pinStimulus.ts";
import type { Volts } from "../bench/units.ts";
import { halfWidth } from "../judge/coverage.ts";
import type { ResultCapture } from "../result.ts";

/** Where a measured converter's output passes from below a code to that code or above. */
export interface TrippingPoint {
  readonly capture: string;
  readonly code: number;
  readonly volts: Volts;
  /** About 95 % half-width, the stated limits of the source included; volts. */
  readonly uncertainty: Volts;
  /** Measured minus ideal T[code]; volts. */
  readonly shift: Volts;
}

/**
 * The measured T[code] of a result's capture.
 * @param ideal  the ideal T[code], volts
 * @returns null with a reason when that transition was not measured
 */
export function trippingPoint(
  capture: ResultCapture,
  code: number,
  ideal: Volts,
): TrippingPoint | { readonly reason: string } {
  const { transitions } = capture;
  if (transitions === null) return { reason: `capture ${capture.name} has no transitions (no histogram was measured)` };
  const at = transitions.codes.indexOf(code);
  if (at < 0) {
    const [first, last] = [transitions.codes[0], transitions.codes.at(-1)];
    const thinned = first !== undefined && last !== undefined && code > first && code < last;
    return {
      reason: thinned
        ? `capture ${capture.name}: the result keeps only some transitions, and T[${code}] is not among them`
        : `capture ${capture.name}: T[${code}] was not measured (codes ${first} to ${last} were)`,
    };
  }
  const volts = transitions.volts[at] ?? null;
  const standard = transitions.standard[at] ?? null;
  if (volts === null || standard === null)
    return { reason: `capture ${capture.name}: T[${code}] was not exercised by the stimulus` };
  const limits = (capture.stimulus as { limits?: readonly SourceLimit[] } | null)?.limits ?? [];
  const effects = limits.map((limit) =>
    limit.kind === "scale" ? limit.halfWidth * Math.abs(volts - limit.pivot) : limit.halfWidth,
  );
  return { capture: capture.name, code, volts, uncertainty: halfWidth(standard, effects), shift: volts - ideal };
}

/**
 * The code that a measured converter gives for a voltage: the number of transitions at or below it.
 * @returns null where transitions next to it were not measured, or the result keeps only some
 */
export function measuredCode(capture: ResultCapture, volts: Volts): number | null {
  const { transitions } = capture;
  if (transitions === null) return null;
  let code: number | null = null;
  for (let i = 0; i < transitions.codes.length; i++) {
    const at = transitions.volts[i];
    if (at === null || at === undefined) continue;
    if (at <= volts) code = transitions.codes[i]!;
    else {
      // The next measured transition must be the very next one, or the code in between is unknown.
      if (code !== null && transitions.codes[i] === code + 1) return code;
      return i === 0 && transitions.codes[0] === 1 ? 0 : null;
    }
  }
  return code === capture.converter.scale.topCode ? code : null;
}
