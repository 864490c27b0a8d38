import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { foldedFrequency } from "../../lib/match/foldedFrequency.ts";
import { measureTone } from "../../lib/measure/tone.ts";
import { analyseTone } from "../../lib/measure/toneAnalysis.ts";
import { harmonicPlaces } from "../../lib/measure/toneHarmonics.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";
import { toneRecord } from "../measure/toneRecord.ts";

const random = seededRandom(1);
const db = (ratio: number): number => 10 * Math.log10(ratio);

/**
 * Q8: an ideal quantiser's real SINAD at full scale, M = 65 536, J = 9973, floor(x + 0.5) clipped, x = (2^(N−1) − 0.5) + 2^(N−1)·sin(2πJn/M + 0.1).
 * Computed by numpy, 0.002 dB. Source of the case: Bennett, "Spectra of quantized signals", BSTJ 27, 1948.
 */
describe("ideal quantiser", () => {
  const M = 65536;
  const record = (bits: number) => {
    const half = 2 ** (bits - 1);
    const codes = Int32Array.from({ length: M }, (_, n) => {
      const x = half - 0.5 + half * Math.sin(2 * Math.PI * (((9973 * n) % M) / M) + 0.1);
      return Math.max(0, Math.min(2 * half - 1, Math.floor(x + 0.5)));
    });
    return toneRecord(codes, scaleOf({ bits, low: 0, high: 1, firstTransition: 0.5 }), { rate: 1e5 });
  };
  for (const [bits, sinad] of [
    [8, 49.812],
    [10, 61.904],
    [12, 73.974],
  ] as const) {
    it(`${bits} bits: SINAD ${sinad} dB`, () => {
      const { estimates } = measureTone(record(bits), random);
      // The divisor M − 4 instead of M is 0.0003 dB.
      expect(Math.abs(estimates.sinad!.value! - sinad)).toBeLessThan(0.002);
      // At full scale both resolutions are the same number; ENOB's range is 2^N codes, the tone's amplitude 2^(N−1).
      expect(estimates.enob!.value!).toBeCloseTo(estimates.enobAtLevel!.value!, 3);
      expect(Math.abs(estimates.enob!.value! - bits)).toBeLessThan(0.03);
      // An 8-bit staircase's own fundamental is 0.0022 dB short of the sine's.
      expect(Math.abs(estimates.signalLevel!.value!)).toBeLessThan(0.003);
    });
  }
  /** FFT floor per bin = 6.02·N + 1.76 + 10·log10(M/2) below full scale, 12 bits. Source: vendor tutorial ADI MT-001, table; 1024: 101.09, 32 768: 116.14 dB. */
  it("noise floor per bin is the processing gain below 6.02·N + 1.76", () => {
    for (const [readings, floor] of [
      [1024, 101.09],
      [32768, 116.14],
    ] as const) {
      const all = record(12);
      const codes = all.codes.slice(0, readings);
      const { curves } = measureTone(toneRecord(codes, all.scale, { rate: 1e5 }), random);
      // A finite record's quantisation noise scatters by ±0.12 dB at 1024 readings (relative sd √(0.8/M)); three of these.
      expect(Math.abs(curves.spectrum!.noiseFloorPerBin + floor)).toBeLessThan(0.4);
    }
  });
});

/** fftmetrics.json: 12 bits, 4096 readings, 487 cycles, numpy.fft.rfft 2.4.6. */
describe("metrics of a coherent record against numpy (fftmetrics.json)", () => {
  const { codes_first, codes_diff, expected, N, J } = JSON.parse(
    readFileSync(new URL("./data/fftmetrics.json", import.meta.url), "utf8"),
  );
  const codes = new Int32Array(N);
  codes[0] = codes_first;
  codes_diff.forEach((d: number, i: number) => {
    codes[i + 1] = codes[i]! + d;
  });
  const fit = fitSine(codes, { frequency: J / N, fixed: true })!;
  const analysis = analyseTone(codes, fit);
  it("amplitude and SINAD, with the vector's divisor M", () => {
    expect(Math.abs(fit.amplitude - expected.signal_amplitude)).toBeLessThan(1e-6);
    expect(Math.abs(db(analysis.tonePower / (fit.rss / N)) - expected.sinad_db)).toBeLessThan(1e-6);
  });
  it("harmonics 2 to 6, their noise left in as the vector has it", () => {
    const powers = analysis.harmonics!.lines.slice(0, 5).map((l) => (l.a ** 2 + l.b ** 2) / 2);
    powers.forEach((p, i) => {
      expect(Math.abs(db(p / analysis.tonePower) - expected.harmonics_dBc[i])).toBeLessThan(1e-6);
    });
    const sum = powers.reduce((a, b) => a + b);
    expect(Math.abs(db(sum / analysis.tonePower) - expected.thd_dBc_h2_h6)).toBeLessThan(1e-6);
    expect(Math.abs(db(analysis.tonePower / (fit.rss / N - sum)) - expected.snr_db_excl_h2_h6)).toBeLessThan(1e-6);
  });
  it("harmonics 2 to 10 with bins made up: THD −65.4404, SNR 66.7430 (CHECKS, conventions converted)", () => {
    const seen = analysis.harmonics!.lines.reduce((sum, l) => sum + (l.a ** 2 + l.b ** 2) / 2, 0);
    expect(db(seen / analysis.tonePower)).toBeCloseTo(-65.4404, 3);
    // Made up for 18 + 3 parameters of 4096 readings.
    expect(db(analysis.tonePower / analysis.noise!)).toBeCloseTo(66.743, 2);
  });
  it("SFDR is against bin 974, the second harmonic; level −0.2059 dBFS", () => {
    const scale = scaleOf({ bits: 12, low: 0, high: 1, firstTransition: 0.5 });
    const { estimates } = measureTone(toneRecord(codes, scale, { rate: 4096 }), random);
    expect(estimates.sfdr!.method).toContain("harmonic 2");
    // The harmonic's own noise, −110 dBFS a bin against −67, is taken off: 0.0005 dB.
    expect(Math.abs(estimates.sfdr!.value! - expected.sfdr_dBc)).toBeLessThan(0.003);
    expect(Math.abs(estimates.signalLevel!.value! - expected.signal_dBFS)).toBeLessThan(1e-4);
    expect(Math.abs(estimates.sinad!.value! - expected.sinad_db)).toBeLessThan(0.01);
  });
});

/** Sums of stated harmonics. Source: IEEE Std 1241, THD as a ratio of powers; vendor note (Microchip, 2023) for SINAD from SNR and THD; figures recomputed. */
describe("THD and SINAD of tones made of known lines", () => {
  const M = 16384;
  const J = 1009;
  const bits = 24;
  const scale = scaleOf({ bits, low: 0, high: 1, firstTransition: 0.5 });
  /** A 24-bit record: its own quantisation lies 60 dB below the smallest line here. */
  const record = (lines: { cycles: number; dbc: number }[]) => {
    const A = 0.45 * 2 ** bits;
    return toneRecord(
      Int32Array.from({ length: M }, (_, n) => {
        const at = (cycles: number): number => Math.cos(2 * Math.PI * (((cycles * n) % M) / M) + cycles);
        return Math.round(
          2 ** (bits - 1) + A * (at(J) + lines.reduce((sum, l) => sum + 10 ** (l.dbc / 20) * at(l.cycles), 0)),
        );
      }),
      scale,
      { rate: 1e5 },
    );
  };
  for (const [name, harmonics, thd] of [
    ["T1", { 2: -74, 3: -70 }, -68.5446],
    ["T2", { 2: -60, 3: -66 }, -59.0268],
    ["T3", { 2: -80, 3: -80, 4: -80 }, -75.2288],
    ["T4", { 2: -70, 3: -75, 4: -80 }, -68.4887],
  ] as const) {
    it(`${name}: THD ${thd} dBc`, () => {
      const lines = Object.entries(harmonics).map(([order, dbc]) => ({ cycles: Number(order) * J, dbc }));
      const { estimates } = measureTone(record(lines), random);
      expect(Math.abs(estimates.thd!.value! - thd)).toBeLessThan(1e-3);
    });
  }
  for (const [name, snr, thd, sinad] of [
    ["T5", 74, -80, 73.0268],
    ["T6", 70, -75, 68.8067],
    ["T7", 62, -62, 58.9897],
  ] as const) {
    it(`${name}: SNR ${snr} dB and THD ${thd} dBc make SINAD ${sinad} dB`, () => {
      // Noise as a line that is no harmonic: its power is exactly known, and it is neither random nor distortion.
      const { estimates, findings } = measureTone(
        record([
          { cycles: 2 * J, dbc: thd },
          { cycles: 3331, dbc: -snr },
        ]),
        random,
      );
      // 22 of 16 384 parameters made up for: 0.006 dB.
      expect(Math.abs(estimates.snr!.value! - snr)).toBeLessThan(0.007);
      // Freed of noise as if it were spread evenly: nine of 8192 bins of it, at most 0.02 dB of the distortion.
      expect(Math.abs(estimates.thd!.value! - thd)).toBeLessThan(0.02);
      expect(Math.abs(estimates.sinad!.value! - sinad)).toBeLessThan(0.003);
      expect(findings.filter((f) => f.id === "routes-disagree")).toEqual([]);
    });
  }
  it("SFDR finds a line that is no harmonic", () => {
    const { estimates } = measureTone(
      record([
        { cycles: 2 * J, dbc: -80 },
        { cycles: 3331, dbc: -72.5 },
      ]),
      random,
    );
    expect(estimates.sfdr!.value!).toBeCloseTo(72.5, 3);
    expect(estimates.sfdr!.method).toContain("a line at");
  });
});

/**
 * Spread of ENOB and SINAD between records of Gaussian noise: relative sd 1/√(2(M − 4)) of the rms residual. Source: CHECKS §9, recomputed: M = 1024: 0.192 dB, 0.03194 bit;
 * 4096: 0.0960 dB, 0.01595 bit; 16 384: 0.0480 dB, 0.00797 bit.
 */
describe("stated intervals against the known spread of Gaussian noise", () => {
  for (const [M, dB, bit] of [
    [1024, 0.192, 0.03194],
    [4096, 0.096, 0.01595],
    [16384, 0.048, 0.00797],
  ] as const) {
    it(`${M} readings: SINAD ±${dB} dB, ENOB ±${bit} bit (one standard deviation)`, () => {
      const noise = seededRandom(M);
      const scale = scaleOf({ bits: 16, low: 0, high: 1, firstTransition: 0.5 });
      const codes = Int32Array.from({ length: M }, (_, n) =>
        Math.round(32768 + 30000 * Math.cos(2 * Math.PI * 0.0917 * n) + 8 * noise.normal()),
      );
      const { sinad, enob } = measureTone(toneRecord(codes, scale), random).estimates;
      // The record's own fourth moment, mixed with the shape's, is known to some 10 %: its root to 5 %, three of these.
      expect(Math.abs((sinad!.high! - sinad!.low!) / (2 * 1.96) / dB - 1)).toBeLessThan(0.15);
      expect(Math.abs((enob!.high! - enob!.low!) / (2 * 1.96) / bit - 1)).toBeLessThan(0.15);
    });
  }
});

/** Where harmonics fold to. A1: ADI Data Conversion Handbook figure (from memory; recomputed); A2, A3 and C5 recomputed from alias = min(r, fs − r). */
describe("aliases", () => {
  it("A1: 7 MHz at 20 MHz, harmonics 1 to 9", () => {
    const folded = Array.from({ length: 9 }, (_, i) => 20 * foldedFrequency(((i + 1) * 7) / 20));
    expect(folded.map((f) => Math.round(f * 1e9) / 1e9)).toEqual([7, 6, 1, 8, 5, 2, 9, 4, 3]);
  });
  it("A2: 123 at 1000, harmonics 2 to 10", () => {
    const places = harmonicPlaces(0.123, 100000);
    expect(places.map((p) => Math.round(1000 * p.frequency))).toEqual([246, 369, 492, 385, 262, 139, 16, 107, 230]);
    expect(places.every((p) => p.state === "kept")).toBe(true);
  });
  it("C5: J = 901 of M = 2048, harmonics 2 to 7 in bins 246, 655, 492, 409, 738, 163", () => {
    const places = harmonicPlaces(901 / 2048, 2048);
    expect(places.slice(0, 6).map((p) => Math.round(2048 * p.frequency))).toEqual([246, 655, 492, 409, 738, 163]);
  });
});
