import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import type { MatchedRecord } from "../../lib/match/matched.ts";
import { measureSteady } from "../../lib/measure/steady.ts";
import { binomialCdf } from "../../lib/signal/distributions.ts";
import { type Random, seededRandom } from "../../lib/signal/random.ts";
import { convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { codeMoments } from "../../lib/simulate/levelTruth.ts";
import { steadyRecord } from "./steadyRecord.ts";

const scale = scaleOf({ bits: 12, low: 0, high: 4.096, firstTransition: 0.5 });
const ideal = simulatedTransitions(scale);

/** Codes of an input at `level` LSB with noise `sigma` LSB, drifting by `drift` LSB over the record, neighbours correlated by `rho`. */
function steadyCodes(
  random: Random,
  readings: number,
  level: number,
  sigma: number,
  { T = ideal, drift = 0, rho = 0 }: { T?: Float64Array; drift?: number; rho?: number } = {},
): Int32Array {
  const codes = new Int32Array(readings);
  let e = random.normal();
  for (let n = 0; n < readings; n++) {
    if (n > 0) e = rho * e + Math.sqrt(1 - rho * rho) * random.normal();
    const x = level + drift * (n / Math.max(1, readings - 1) - 0.5) + sigma * e;
    codes[n] = convert(T, x * scale.lsb);
  }
  return codes;
}

const measure = (codes: Int32Array, rate: number | null = 1000) =>
  measureSteady(steadyRecord(codes, scale, rate), seededRandom(1)).estimates;

describe("measureSteady", () => {
  it("sixty readings copied by hand give every figure, none of them NaN", () => {
    // A plain record of a quiet 12-bit input, as a person would note it down.
    const noted = "2047 2048 2047 2046 2047 2048 2047 2047 2049 2047 2046 2047".split(" ").map(Number);
    const estimates = measure(Int32Array.from([...noted, ...noted, ...noted, ...noted, ...noted]), null);
    expect(estimates.meanCode!.value).toBeCloseTo(28166 / 12 - 300, 6);
    expect(estimates.codeRms!.value!).toBeGreaterThan(0.8);
    expect(estimates.noiseRms!.value!).toBeGreaterThan(0.6);
    expect(estimates.noisePeakToPeak!.value).toBe(3);
    for (const e of Object.values(estimates))
      for (const x of [e.value, e.low, e.high]) expect(Number.isNaN(x)).toBe(false);
  });
  it("recovers the input noise from well above to well below one LSB", () => {
    const random = seededRandom(3);
    for (const sigma of [0.3, 0.5, 1, 3, 40]) {
      const { noiseRms } = measure(steadyCodes(random, 20_000, 2000.3, sigma));
      // Relative scatter of σ from 20 000 readings is 0.5 % for many codes, 2 % at 0.3 LSB, where only the rare third code tells: four of those.
      expect(Math.abs(noiseRms!.value! / sigma - 1), `σ ${sigma}`).toBeLessThan(sigma < 0.4 ? 0.08 : 0.02);
      expect(noiseRms!.low!).toBeLessThan(sigma);
      expect(noiseRms!.high!).toBeGreaterThan(sigma);
    }
  });
  it("one code only: the noise is bounded, not zero; the resolution is capped, the spread is nought", () => {
    const estimates = measure(new Int32Array(500).fill(1234));
    expect(estimates.noiseRms).toMatchObject({ value: null, low: null });
    expect(estimates.noiseRms!.high!).toBeGreaterThan(0.15);
    expect(estimates.noiseRms!.high!).toBeLessThan(0.3);
    expect(estimates.noiseRms!.reason).toContain("500 readings are one code");
    expect(estimates.effectiveResolution).toMatchObject({ value: 12, low: 12, high: 12 });
    expect(estimates.codeRms!.value).toBe(0);
    expect(estimates.codeRms!.high!).toBeGreaterThan(0);
    expect(estimates.meanCode!.value).toBe(1234);
    expect(estimates.meanCode!.high!).toBeLessThan(1234.02);
  });
  it("two codes: an upper bound that holds, no value", () => {
    const random = seededRandom(5);
    const sigma = 0.12;
    const { noiseRms, noiseFreeBits } = measure(steadyCodes(random, 400, 1000.5, sigma));
    expect(noiseRms).toMatchObject({ value: null, low: null });
    expect(noiseRms!.high!).toBeGreaterThan(sigma);
    // Some 400 readings without a third code: 1/σ above 2.7, and a code may be a third wider than one LSB.
    expect(noiseRms!.high!).toBeLessThan(0.6);
    expect(noiseRms!.reason).toContain("2 codes");
    expect(noiseFreeBits!.value).toBeNull();
    expect(noiseFreeBits!.high).toBe(12);
  });
  it("noise is about the drift line: a drift of ten LSB leaves it where it was", () => {
    const codes = steadyCodes(seededRandom(7), 20_000, 2000, 0.5, { drift: 10 });
    const { noiseRms, drift, codeRms } = measure(codes, 1000);
    expect(Math.abs(noiseRms!.value! / 0.5 - 1)).toBeLessThan(0.02);
    // 10 LSB in 20 s.
    expect(drift!.low!).toBeLessThan(0.5);
    expect(drift!.high!).toBeGreaterThan(0.5);
    // The codes' widths decide how fast they follow the input. Eleven whole codes show a spread of at most 0.07 LSB or so, a walk over ten of them ±0.4 LSB of 10.
    expect(drift!.high! - drift!.low!).toBeLessThan(0.08 * 0.5 * 2);
    expect(drift!.high! - drift!.low!).toBeGreaterThan(0.01);
    // The plain spread has the drift in it: √(0.5² + 1/12 + 10²/12).
    expect(codeRms!.value!).toBeCloseTo(Math.sqrt(0.25 + 1 / 12 + 100 / 12), 1);
  });
  it("a drift through codes shows noise that standing still would hide", () => {
    const { noiseRms } = measure(steadyCodes(seededRandom(9), 20_000, 2000, 0.1, { drift: 6 }));
    expect(noiseRms!.value!).toBeCloseTo(0.1, 1);
    expect(noiseRms!.low!).toBeLessThan(0.1);
    expect(noiseRms!.high!).toBeGreaterThan(0.1);
  });
  it("drift has no LSB per second without a rate, and says what there is instead", () => {
    const { drift } = measure(steadyCodes(seededRandom(11), 1000, 2000, 0.5), null);
    expect(drift!.value).toBeNull();
    expect(drift!.reason).toContain("per 1000 readings");
  });
  it("correlated neighbours widen the mean's interval by what they are worth", () => {
    const width = (rho: number): number => {
      const { meanCode } = measure(steadyCodes(seededRandom(13), 20_000, 2000.2, 2, { rho }));
      return meanCode!.high! - meanCode!.low!;
    };
    // AR(1): variance of the mean grows by (1 + ρ)/(1 − ρ) = 9 at ρ = 0.8. The estimate of it from 20 000 readings scatters by about 10 %.
    expect(width(0.8) / width(0)).toBeGreaterThan(2.5);
    expect(width(0.8) / width(0)).toBeLessThan(3.6);
  });
  it("noise that the end of the range cuts off is not given as if it were whole", () => {
    const { noiseRms } = measure(steadyCodes(seededRandom(15), 5000, 3, 6));
    expect(noiseRms!.value).toBeNull();
    expect(noiseRms!.reason).toContain("end of the range");
  });
  it("a drift over hundreds of codes, or a stray reading far off, breaks nothing", () => {
    const { noiseRms } = measure(steadyCodes(seededRandom(21), 20_000, 2000, 1, { drift: 900 }));
    expect(Math.abs(noiseRms!.value! - 1)).toBeLessThan(0.05);
    const stray = steadyCodes(seededRandom(23), 20_000, 2000, 0.6);
    stray[777] = 100;
    for (const e of Object.values(measure(stray)))
      for (const x of [e.value, e.low, e.high]) expect(Number.isNaN(x)).toBe(false);
  });
  it("a few readings give few figures, with reasons", () => {
    for (const readings of [1, 2, 4]) {
      const estimates = measure(Int32Array.from({ length: readings }, (_, i) => 100 + (i % 2)));
      expect(estimates.noiseRms!.value).toBeNull();
      expect(estimates.noiseRms!.reason).toContain("at least 5");
      expect(estimates.drift!.value).toBeNull();
    }
    expect(measure(Int32Array.of(7)).codeRms!.reason).toContain("at least 2");
  });
  it("no clean readings, no figures", () => {
    const record = { ...steadyRecord(new Int32Array(3), scale), clean: [] } as MatchedRecord;
    expect(measureSteady(record, seededRandom(1)).estimates).toEqual({});
  });
  it("only clean stretches count", () => {
    const codes = steadyCodes(seededRandom(17), 2000, 2000.4, 0.6);
    codes.fill(4000, 900, 1100);
    const record = {
      ...steadyRecord(codes, scale),
      clean: [
        [0, 899],
        [1100, 1999],
      ],
    } as unknown as MatchedRecord;
    const { estimates, curves } = measureSteady(record, seededRandom(1));
    expect(estimates.noisePeakToPeak!.value!).toBeLessThan(7);
    expect(curves.steady!.counts.reduce((sum, c) => sum + c.count, 0)).toBe(1800);
  });
  it("the course over time has every reading once", () => {
    const codes = steadyCodes(seededRandom(19), 1003, 2000.4, 0.6);
    const { curves } = measureSteady(steadyRecord(codes, scale), seededRandom(1));
    const { blocks } = curves.steady!;
    const mean = codes.reduce((s, c) => s + c, 0) / 1003;
    const last = 1003 - blocks.readingsEach * (blocks.mean.length - 1);
    const weighted = blocks.mean.reduce(
      (s, m, i) => s + m * (i < blocks.mean.length - 1 ? blocks.readingsEach : last),
      0,
    );
    expect(weighted / 1003).toBeCloseTo(mean, 9);
  });
  it("averaged codes are held to their own resolution", () => {
    const summed = scaleOf({
      bits: 12,
      low: 0,
      high: 4.096,
      firstTransition: 0.5,
      averaging: { readings: 16, shift: 2 },
    });
    const { estimates } = measureSteady(steadyRecord(new Int32Array(100).fill(8000), summed), seededRandom(1));
    expect(estimates.effectiveResolution!.value).toBe(14);
  });
});

describe("the intervals of a steady capture hold", () => {
  // 100 captures a condition, each of another converter and another level. A true share of 93 % falls below the bound once in a thousand.
  const trials = 100;
  const conditions = [
    { readings: 60, sigma: 0.3 },
    { readings: 500, sigma: 0.05 },
    { readings: 300, sigma: 1 },
    { readings: 800, sigma: 0.5, rho: 0.5 },
    { readings: 600, sigma: 3, drift: 4 },
  ];
  for (const { readings, sigma, rho = 0, drift = 0 } of conditions)
    it(`${readings} readings, σ ${sigma}${rho ? `, correlated by ${rho}` : ""}${drift ? `, drifting ${drift} LSB` : ""}`, () => {
      const random = seededRandom(readings + 1000 * sigma);
      const held: Record<string, number> = {};
      for (let i = 0; i < trials; i++) {
        const T = simulatedTransitions(scale, { dnlSigma: 0.1, seed: i + 1 });
        const level = 1000 + 50 * random.uniform();
        const estimates = measure(steadyCodes(random, readings, level, sigma, { T, rho, drift }), 100);
        let mean = 0;
        let square = 0;
        for (let k = 0; k < 40; k++) {
          const at = codeMoments(T, (level + drift * ((k + 0.5) / 40 - 0.5)) * scale.lsb, sigma * scale.lsb);
          mean += at.mean / 40;
          square += (at.sd ** 2 + at.mean ** 2) / 40;
        }
        const truths = {
          meanCode: mean,
          codeRms: Math.sqrt(Math.max(0, square - mean * mean)),
          noiseRms: sigma,
          noiseFreeBits: Math.min(12, 12 - Math.log2(6.6 * sigma)),
          drift: drift / ((readings - 1) / 100),
        };
        for (const [name, truth] of Object.entries(truths)) {
          const { low, high } = estimates[name as keyof typeof truths]!;
          const hair = 1e-9 * Math.abs(truth);
          held[name] =
            (held[name] ?? 0) + ((low ?? -Infinity) <= truth + hair && truth <= (high ?? Infinity) + hair ? 1 : 0);
        }
      }
      for (const [name, count] of Object.entries(held))
        expect(binomialCdf(count, trials, 0.93), `${name} held in ${count} of ${trials}`).toBeGreaterThan(0.001);
    });
});
