import { describe, expect, it } from "vitest";
import { overdriveFor, readingsForDnl, readingsForRampDnl } from "../../lib/measure/recordLength.ts";
import { sineWaveform } from "../../lib/measure/transitionsWaveform.ts";

describe("readings for a DNL confidence: Doernberg, Lee and Hodges, IEEE JSSC SC-19(6), 1984, M = π·2^(N−1)·z²/β²", () => {
  // Recomputed from the published formula with z from the inverse normal (CHECKS 2), exact whole numbers. The paper's own "268 000" for 8 bits at 99 % follows
  // from z = 2.58, its "4.2 million" for 12 bits is from memory.
  it.each([
    [8, 0.99, 0.1, 266_806],
    [8, 0.95, 0.1, 154_475],
    [10, 0.99, 0.1, 1_067_221],
    [10, 0.95, 0.1, 617_897],
    [12, 0.99, 0.1, 4_268_881],
    [12, 0.95, 0.1, 2_471_588],
    [12, 0.99, 0.2, 1_067_221],
    [14, 0.99, 0.5, 683_021],
    [16, 0.99, 0.5, 2_732_084],
    [16, 0.95, 0.1, 39_545_402],
  ])("%i bits, confidence %f, ±%f LSB: %i readings", (bits, confidence, halfWidth, readings) => {
    expect(readingsForDnl({ bits, confidence, halfWidth })).toBe(readings);
  });

  it("overdrive spreads the same readings over a longer sine", () => {
    // Amplitude 128 + 12.8 instead of 128: one tenth more, before rounding up.
    const plain = readingsForDnl({ bits: 8, halfWidth: 0.1 });
    expect(readingsForDnl({ bits: 8, halfWidth: 0.1, overdrive: 12.8 })).toBeCloseTo(1.1 * plain, -1);
  });
});

describe("ramp histogram: a count of K has the standard deviation √K (Poisson; CHECKS 2, H1)", () => {
  it("100 readings a code give 0.100 LSB, ±0.196 at 95 %", () => {
    // 0.195996 is 1.959964·0.1: 2^8 codes of 100 readings.
    expect(readingsForRampDnl({ bits: 8, halfWidth: 0.1959964 })).toBe(25_600);
  });
});

describe("share of a full-scale sine within a code (closed form, CHECKS 2, H2 and H3)", () => {
  it.each([
    [8, 2.486821e-3, 3.981469e-2],
    [10, 6.216993e-4, 1.989761e-2],
    [12, 1.5542476e-4, 9.947589e-3],
  ])("%i bits: mid code and end code", (bits, mid, end) => {
    const half = 2 ** (bits - 1);
    const wave = sineWaveform(half, half);
    // Printed to seven digits.
    expect(wave.below(half + 1) - wave.below(half)).toBeCloseTo(mid, 9);
    expect(1 - wave.below(2 * half - 1)).toBeCloseTo(end, 8);
  });
});

describe("overdrive against noise: Blair, IEEE T-IM 43(3), 1994 (formula from memory, recomputed)", () => {
  it("σ = 1 LSB and a bias of 0.01 need 12.247 LSB", () => {
    expect(overdriveFor(1, 0.01)).toBeCloseTo(12.247, 3);
  });
  it("is never below three standard deviations", () => {
    expect(overdriveFor(2, 10)).toBe(6);
  });
});
