import { codeOfVoltage, type Scale } from "../bench/scale.ts";
import type { Lsb, Volts } from "../bench/units.ts";
import type { CodeInputs } from "./codeInputs.ts";

/** What is left between a converter's codes and those of an ideal converter, over every code that occurs. */
export interface Residual {
  /** Largest magnitude. */
  readonly max: Lsb;
  readonly maxVolts: Volts;
  readonly worstCode: number;
  readonly rms: Lsb;
  readonly rmsVolts: Volts;
  readonly codes: number;
}

/**
 * Compares each code, after `correct`, with what an ideal converter makes of that code's own input. An ideal converter stops at its end codes too, so that
 * an input beyond the range counts as its end code (floating-point volts may go beyond: `held` false). Quantisation is in neither: the middle of a code stands for the code.
 * @param correct  from a code to a corrected code, whole or not; the identity gives the residual before
 */
export function residual(scale: Scale, inputs: CodeInputs, correct: (code: number) => number, held = true): Residual {
  let max = 0;
  let worstCode = 0;
  let squares = 0;
  let codes = 0;
  for (let i = 0; i < inputs.volts.length; i++) {
    if (!inputs.occurs(i)) continue;
    const code = i * inputs.stride;
    const wanted = codeOfVoltage(scale, inputs.volts[i]!);
    const ideal = held ? Math.max(0, Math.min(scale.topCode, wanted)) : wanted;
    const error = correct(code) - ideal;
    squares += error * error;
    codes++;
    if (Math.abs(error) > max) {
      max = Math.abs(error);
      worstCode = code;
    }
  }
  const rms = codes === 0 ? 0 : Math.sqrt(squares / codes);
  return { max, maxVolts: max * scale.lsb, worstCode, rms, rmsVolts: rms * scale.lsb, codes };
}
