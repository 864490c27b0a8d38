import { describe, expect, it } from "vitest";
import type { Converter, StepsStimulus } from "../../lib/bench/bench.ts";
import { pinStimulus } from "../../lib/bench/pinStimulus.ts";
import { scaleOf } from "../../lib/bench/scale.ts";
import { judge } from "../../lib/judge/decide.ts";
import { expandAll } from "../../lib/judge/expandAll.ts";
import type { MatchedRecord } from "../../lib/match/matched.ts";
import { measureSteady } from "../../lib/measure/steady.ts";
import { measureSteps } from "../../lib/measure/steps.ts";
import { binomialCdf } from "../../lib/signal/distributions.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { levelTruth } from "../../lib/simulate/levelTruth.ts";
import { steadyRecord } from "../measure/steadyRecord.ts";
import { benchOf, captureOf, limitOf, steps } from "./builtCapture.ts";

const TRIALS = 400;

/**
 * Asserts that wrong decisions are as rare as a 95 % interval makes them at its worst, a value exactly on the limit: 2.5 % on either side. A true share of 4 %
 * (2.5 % and what approximations may add) exceeds the bound once in a thousand.
 */
function expectRare(wrong: number, what: string): void {
  expect(1 - binomialCdf(wrong - 1, TRIALS, 0.04), `${what}: ${wrong} of ${TRIALS}`).toBeGreaterThan(0.001);
}

describe("guarded decisions with the truth just beyond the limit", () => {
  it("offset, gain and INL of steps from a source within its limits: wrong passes and wrong fails are rare, right ones are reached", () => {
    const random = seededRandom(31);
    const accuracy = { gain: 0.0004, offset: 0.0005, linearity: 0, repeatability: 0 };
    const voltages = Array.from({ length: 9 }, (_, i) => 0.1 + 0.45 * i);
    const readings = 24;
    const converter = {
      bits: 10,
      low: 0,
      high: 4.096,
      firstTransition: 0.5,
      line: "endpoint",
      reference: null,
      averaging: null,
    } as unknown as Converter;
    const scale = scaleOf(converter);
    const stimulus: StepsStimulus = {
      kind: "steps",
      column: null,
      levels: voltages.map((voltage) => ({ voltage, readings })),
      direction: "up",
      accuracy,
    };
    const spec = { converter, frontEnd: null, stimulus } as unknown as MatchedRecord["spec"];
    const wrong = { pass: [0, 0, 0], fail: [0, 0, 0] };
    let decided = 0;
    for (let i = 0; i < TRIALS; i++) {
      const T = simulatedTransitions(scale, {
        offset: 4 * random.uniform() - 2,
        gainPercent: random.uniform() - 0.5,
        bow: 2 * random.uniform() - 1,
        dnlSigma: 0.1,
        seed: i + 1,
      });
      const gain = 1 + accuracy.gain * (2 * random.uniform() - 1);
      const offset = accuracy.offset * (2 * random.uniform() - 1);
      const sigma = 0.6 * scale.lsb;
      const codes = Int32Array.from({ length: voltages.length * readings }, (_, n) =>
        convert(T, gain * voltages[Math.floor(n / readings)]! + offset + sigma * random.normal()),
      );
      const record = {
        spec,
        codes,
        scale,
        stimulus: pinStimulus(spec),
        appliedVolts: null,
        clean: [[0, codes.length - 1]],
        findings: [],
      } as unknown as MatchedRecord;
      const figures = expandAll(measureSteps(record, random).estimates, []);
      const truth = levelTruth(
        T,
        scale,
        voltages.map((v) => gain * v + offset),
        sigma,
        "endpoint",
      );
      const sizes = [Math.abs(truth.offsetError), Math.abs(truth.gainError), Math.max(truth.inlMax, -truth.inlMin)];
      const metrics = ["offsetError", "gainError", "inl"] as const;
      const at = (factor: number) =>
        judge(benchOf(metrics.map((m, j) => limitOf(m, { max: sizes[j]! * factor }))), [
          captureOf("steps", figures, { stimulus: steps }),
        ]).verdict.limits.map((r) => r.decision);
      at(1 - 1e-9).forEach((d, j) => {
        if (d === "pass") wrong.pass[j]!++;
      });
      at(1 + 1e-9).forEach((d, j) => {
        if (d === "fail") wrong.fail[j]!++;
      });
      if (at(20)[0] === "pass") decided++;
    }
    wrong.pass.forEach((n, j) => {
      expectRare(n, `wrong passes of ${["offsetError", "gainError", "inl"][j]}`);
    });
    wrong.fail.forEach((n, j) => {
      expectRare(n, `wrong fails of ${["offsetError", "gainError", "inl"][j]}`);
    });
    // An interval so wide that nothing could be decided would be no merit.
    expect(decided).toBeGreaterThan(0.9 * TRIALS);
  });

  it("noise of a steady input", () => {
    const random = seededRandom(33);
    const scale = scaleOf({ bits: 12, low: 0, high: 4.096, firstTransition: 0.5 });
    const wrong = { pass: 0, fail: 0 };
    const sigma = 0.8;
    for (let i = 0; i < TRIALS; i++) {
      const T = simulatedTransitions(scale, { dnlSigma: 0.1, seed: i + 1 });
      const level = 2000 + random.uniform();
      const codes = Int32Array.from({ length: 200 }, () => convert(T, (level + sigma * random.normal()) * scale.lsb));
      const figures = expandAll(measureSteady(steadyRecord(codes, scale), random).estimates, []);
      const at = (max: number) =>
        judge(benchOf([limitOf("noiseRms", { max })]), [captureOf("steady", figures)]).verdict.decision;
      if (at(sigma - 1e-9) === "pass") wrong.pass++;
      if (at(sigma + 1e-9) === "fail") wrong.fail++;
    }
    expectRare(wrong.pass, "wrong passes");
    expectRare(wrong.fail, "wrong fails");
  });
});
