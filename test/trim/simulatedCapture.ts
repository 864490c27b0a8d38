import { type Scale, scaleOf } from "../../lib/bench/scale.ts";
import type { ResultCapture, ResultConverter } from "../../lib/result.ts";
import { type ConverterFaults, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { capture, converter, figure } from "../compare/builtResult.ts";

/** A capture whose transitions, offset and gain are those of a simulated converter, exactly. Offset and gain of the end-point line. */
export function simulatedCapture(
  setting: Parameters<typeof converter>[0] = {},
  faults: ConverterFaults = {},
  more: { offsetU?: number; gainU?: number; withTransitions?: boolean } = {},
): { capture: ResultCapture; T: Float64Array; scale: Scale; converter: ResultConverter } {
  const built = converter(setting);
  const scale = scaleOf({ ...built, averaging: built.averaging });
  const T = simulatedTransitions(scale, faults);
  const codes = Array.from({ length: scale.topCode }, (_, i) => i + 1);
  const { offset = 0, gainPercent = 0 } = faults;
  return {
    T,
    scale,
    converter: built,
    capture: capture("ramp", {
      converter: built,
      stimulus: { kind: "ramp" },
      metrics: {
        offsetError: figure("offsetError", offset, more.offsetU ?? 0.02),
        gainError: figure("gainError", gainPercent, more.gainU ?? 0.001),
      },
      transitions:
        more.withTransitions === false
          ? null
          : {
              codes,
              volts: codes.map((k) => T[k]!),
              standard: codes.map(() => 0),
              inl: codes.map(() => null),
              dnl: codes.map(() => null),
            },
    }),
  };
}
