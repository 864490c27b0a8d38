import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import {
  differentialNonlinearity,
  integralNonlinearity,
  staticLine,
  unadjustedErrors,
} from "../../lib/measure/staticLine.ts";
import { simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { staticTruth } from "../../lib/simulate/staticTruth.ts";

// A bipolar range and a first transition at 1 LSB, so that nothing hides behind zero.
const scale = scaleOf({ bits: 6, low: -1, high: 1, firstTransition: 1 });
const T = simulatedTransitions(scale, { offset: -1.5, gainPercent: 2, dnlSigma: 0.2, bow: 0.7, seed: 4 });
const transitions = T.slice(1);

describe("staticLine", () => {
  it.each(["endpoint", "best-fit"] as const)(
    "%s: offset, gain, DNL and INL agree with the definitions worked out apart",
    (name) => {
      const truth = staticTruth(T, scale, name);
      const line = staticLine(transitions, scale, 1, name);
      expect(line.offset / scale.lsb).toBeCloseTo(truth.offsetError, 10);
      expect(100 * (line.gain - 1)).toBeCloseTo(truth.gainError, 10);
      const inl = integralNonlinearity(transitions, scale, 1, line);
      const dnl = differentialNonlinearity(transitions, scale.lsb, line);
      inl.forEach((x, i) => {
        expect(x).toBeCloseTo(truth.inl[i + 1]!, 10);
      });
      dnl.slice(0, -1).forEach((x, i) => {
        expect(x).toBeCloseTo(truth.dnl[i + 1]!, 10);
      });
      expect(dnl.at(-1)).toBeNaN();
    },
  );
  it("offset is what the line reads at 0 V, mid-scale here", () => {
    const line = staticLine(transitions, scale, 1, "endpoint");
    expect(line.offset / scale.lsb).toBeCloseTo(-1.5, 9);
  });
  it("end-point INL is the running sum of DNL (IEEE Std 1241-2010)", () => {
    const line = staticLine(transitions, scale, 1, "endpoint");
    const inl = integralNonlinearity(transitions, scale, 1, line);
    let sum = 0;
    differentialNonlinearity(transitions, scale.lsb, line).forEach((d, i) => {
      expect(inl[i]).toBeCloseTo(sum, 10);
      sum += d;
    });
    expect(inl.at(-1)).toBeCloseTo(0, 10);
  });
  it("best fit leaves a smaller sum of squares than the end-point line", () => {
    const square = (name: "endpoint" | "best-fit"): number =>
      integralNonlinearity(transitions, scale, 1, staticLine(transitions, scale, 1, name)).reduce(
        (s, x) => s + x * x,
        0,
      );
    expect(square("best-fit")).toBeLessThan(square("endpoint"));
  });
  it("unadjusted errors are T − ideal T in LSB", () =>
    expect(Math.max(...unadjustedErrors(transitions, scale, 1).map(Math.abs))).toBeCloseTo(
      staticTruth(T, scale, "endpoint").totalUnadjustedError,
      10,
    ));
  it("refuses fewer than two transitions, and transitions that do not rise", () => {
    expect(() => staticLine([1], scale, 1, "endpoint")).toThrow(/at least 2/);
    expect(() => staticLine([1, 1], scale, 1, "endpoint")).toThrow(/must lie above/);
    expect(() => staticLine([1, 1], scale, 1, "best-fit")).toThrow(/not all be equal/);
  });
});
