import type { Bench, CaptureSpec } from "../bench/bench.ts";
import { atPin, pinStimulus } from "../bench/pinStimulus.ts";
import { idealTransition, scaleOf } from "../bench/scale.ts";
import type { Ratio, Volts } from "../bench/units.ts";
import type { Result, ResultCapture } from "../result.ts";
import { codeForVoltage, shareAbove, type Threshold, voltageForCode } from "./threshold.ts";
import { measuredCode, type TrippingPoint, trippingPoint } from "./trippingPoint.ts";

/** What `plan --at` says; `--json` writes it as it stands. */
export interface ThresholdReport extends Threshold {
  readonly schema: "codestair-threshold/1";
  readonly title: string;
  /** As typed: a voltage at the source, where a front end lies between. */
  readonly asked: { readonly kind: "volts" | "code"; readonly value: number };
  /** LSB of the logged codes, volts. */
  readonly lsb: Volts;
  /** Ends of the range. */
  readonly low: Volts;
  readonly range: Volts;
  readonly topCodeValue: number;
  readonly hasFrontEnd: boolean;
  /** Where a measured converter passes to this code, and from it to the next; with the code it gives for the voltage. */
  readonly measured: readonly MeasuredThreshold[];
  /** The share of time each stated sine spends above the voltage (or above the code's lower end). */
  readonly shares: readonly { readonly capture: string; readonly above: Volts; readonly share: Ratio }[];
}

export interface MeasuredThreshold {
  readonly capture: string;
  /** The code this converter gives for the voltage; null when a code was asked for, or it is not known. */
  readonly code: number | null;
  /** To this code (`code >= k` in firmware trips here), and to the next (`code > k`). */
  readonly trips: TrippingPoint | { readonly reason: string };
  readonly tripsNext: TrippingPoint | { readonly reason: string } | null;
}

/**
 * @param spec    the converter and front end to use: the bench's own, or a capture's
 * @param asked   a voltage (at the source) or a code
 * @param result  a result whose measured transitions are wanted, or null
 * @throws RangeError  a code outside the converter's codes
 */
export function thresholdReport(
  bench: Bench,
  spec: Pick<CaptureSpec, "converter" | "frontEnd">,
  asked: ThresholdReport["asked"],
  result: Result | null,
  resultCapture: string | null = null,
): ThresholdReport {
  const scale = scaleOf(spec.converter);
  const threshold =
    asked.kind === "volts" ? codeForVoltage(spec, atPin(spec, asked.value)) : voltageForCode(spec, asked.value);
  const above = threshold.volts ?? threshold.window.from;
  const captures = (result?.captures ?? []).filter((capture) =>
    resultCapture === null ? capture.transitions !== null : capture.name === resultCapture,
  );
  const measured = captures.map((capture) => measure(capture, threshold, scale));
  const shares =
    above === null
      ? []
      : bench.captures.flatMap((capture) => {
          const sine = pinStimulus(capture);
          if (sine?.kind !== "sine" || sine.amplitude === null || sine.offset === null) return [];
          return [{ capture: capture.name, above, share: shareAbove(above, sine.amplitude, sine.offset) }];
        });
  return {
    schema: "codestair-threshold/1",
    title: bench.title,
    asked,
    ...threshold,
    lsb: scale.lsb,
    low: scale.low,
    range: scale.fsr,
    topCodeValue: scale.topCode,
    hasFrontEnd: spec.frontEnd !== null,
    measured,
    shares,
  };
}

function measure(capture: ResultCapture, threshold: Threshold, scale: ReturnType<typeof scaleOf>): MeasuredThreshold {
  const { code, volts } = threshold;
  const name = capture.name;
  // Codes of another scale are other voltages.
  if (
    Math.abs(capture.converter.scale.lsb / scale.lsb - 1) > 1e-6 ||
    Math.abs(capture.converter.low - scale.low) > 1e-9
  )
    return {
      capture: name,
      code: null,
      trips: { reason: `capture ${name} was taken with another range or resolution` },
      tripsNext: null,
    };
  const point = (k: number): MeasuredThreshold["trips"] =>
    k < 1 || k > scale.topCode
      ? { reason: k < 1 ? "code 0 has no transition below it" : "the top code has no transition above it" }
      : trippingPoint(capture, k, idealTransition(scale, k));
  return {
    capture: name,
    code: volts === null ? null : measuredCode(capture, volts),
    trips: point(code),
    tripsNext: point(code + 1),
  };
}
