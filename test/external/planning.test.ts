/*
 * Planning against published worked examples and tables (CHECKS 2, 4, 5, 7, 13, 14). "seen": the number was read in the named source; "computed": recomputed from the published
 * formula; "memory": attribution recalled only, the number recomputed.
 */
import { describe, expect, it } from "vitest";
import { readBench } from "../../lib/bench/readBench.ts";
import { foldedFrequency } from "../../lib/match/foldedFrequency.ts";
import { overdriveFor, readingsForDnl, readingsForRampDnl } from "../../lib/measure/recordLength.ts";
import { coherentFrequency } from "../../lib/plan/coherentFrequency.ts";
import { bitsOfSinad, combineSnr, idealSnr, jitterFor, jitterSnr, kTCNoise } from "../../lib/plan/noiseBounds.ts";
import { settlingTime, timeConstants } from "../../lib/plan/settling.ts";
import { codeForVoltage, shareAbove } from "../../lib/plan/threshold.ts";
import { readingsForBits, readingsForDecibels } from "../../lib/plan/toneLength.ts";

describe("settling in time constants", () => {
  // Texas Instruments, "Analog Engineer's Pocket Reference", SLYW038D, 2014–2025: accuracy in bits against time constants (the 1 LSB column, seen to two places);
  // ½ and ¼ LSB computed as ln(2^N·d). Tolerance: half a unit of the fourth place.
  it.each([
    [8, 5.5452, 6.2383, 6.9315],
    [10, 6.9315, 7.6246, 8.3178],
    [12, 8.3178, 9.0109, 9.7041],
    [14, 9.7041, 10.3972, 11.0904],
    // The source prints 11.04 for 16 bits at 1 LSB; the formula gives 11.0904 (a misprint, CHECKS 4).
    [16, 11.0904, 11.7835, 12.4766],
    [18, 12.4766, 13.1698, 13.8629],
    [24, 16.6355, 17.3287, 18.0218],
  ])("%i bits", (bits, one, half, quarter) => {
    expect(timeConstants(bits, 1)).toBeCloseTo(one, 4);
    expect(timeConstants(bits)).toBeCloseTo(half, 4);
    expect(timeConstants(bits, 0.25)).toBeCloseTo(quarter, 4);
  });

  it("S1, S2: 10 kΩ and 12 pF to ¼ LSB (university course question, seen; it prints 1164.448 ns for 12 bits, the formula gives 1164.487)", () => {
    expect(settlingTime(10e3, 12e-12, 12, 0.25) * 1e9).toBeCloseTo(1164.487, 3);
    expect(settlingTime(10e3, 12e-12, 6, 0.25) * 1e9).toBeCloseTo(665.421, 3);
  });

  it("S3: 1 kΩ and 30 pF to ½ LSB of 16 bits (computed)", () =>
    expect(settlingTime(1e3, 30e-12, 16) * 1e9).toBeCloseTo(353.5051, 4));
});

describe("kT/C noise", () => {
  // Computed with k = 1.380649e-23 J/K; "64.3–64.4 µV for 1 pF at 300 K" seen. Tolerance 0.001 µV: half a unit of the table's last place.
  it.each([
    [0.1, 202.889, 203.518],
    [1, 64.159, 64.358],
    [5, 28.693, 28.782],
    [10, 20.289, 20.352],
    [100, 6.416, 6.436],
    [1000, 2.029, 2.035],
  ])("%f pF at 298.15 K and 300 K", (pico, room, warm) => {
    expect(kTCNoise(pico * 1e-12) * 1e6).toBeCloseTo(room, 3);
    expect(kTCNoise(pico * 1e-12, 300) * 1e6).toBeCloseTo(warm, 3);
  });
});

describe("aperture jitter", () => {
  // Public RF reference table (seen, rounded to 84, 64, 50, 44 dB and 13.7, 10.3, 8.0, 7.0 bit); Kester, MT-007, 2009; the rest computed.
  it.each([
    [100e6, 100e-15, 84.0364, 13.6657],
    [1e9, 100e-15, 64.0364, 10.3437],
    [5e9, 100e-15, 50.057, 8.0218],
    [70e6, 1e-12, 67.1344, 10.8583],
    [8e6, 2e-12, 79.954, 12.9876],
    [1e9, 32e-15, 73.9334, 11.9876],
    [50e3, 10e-9, 50.057, 8.0218],
    [1e3, 10e-9, 84.0364, 13.6657],
  ])("%f Hz with %f s rms", (frequency, jitter, snr, bits) => {
    expect(jitterSnr(frequency, jitter)).toBeCloseTo(snr, 4);
    // The published bits use the rounded constants 1.76 and 6.02; the exact ones differ by up to 0.0013 bit (CHECKS 17).
    expect(Math.abs(bitsOfSinad(jitterSnr(frequency, jitter)) - bits)).toBeLessThan(0.0015);
  });

  it.each([
    [12, 10e6, 3.1756e-12],
    [14, 8e6, 0.9925e-12],
    [16, 1e6, 1.98527e-12],
  ])(
    "jitter that leaves 6.02·N + 1.76 dB to %i bits (computed with the rounded constants)",
    (bits, frequency, jitter) => expect(jitterFor(frequency, 6.02 * bits + 1.76) / jitter).toBeCloseTo(1, 4),
  );

  it.each([
    [8, 49.9257],
    [12, 74.0081],
    [16, 98.0905],
    [24, 146.2553],
  ])("an ideal converter of %i bits (Bennett, BSTJ 27, 1948; 12, 14, 16 bits seen in MT-001; computed)", (bits, snr) =>
    expect(idealSnr(bits)).toBeCloseTo(snr, 4),
  );

  it("independent ratios combine by their powers (T5, T6; vendor note, 2023)", () => {
    expect(combineSnr([74, 80])).toBeCloseTo(73.0268, 4);
    expect(combineSnr([70, 75])).toBeCloseTo(68.8067, 4);
  });
});

describe("coherent frequency", () => {
  const example = { rate: 100e6, wanted: 44e6, readings: 2048 };

  it("C1: 44 MHz at 100 MHz and 2048 readings is 901 cycles (public encyclopaedia, seen)", () => {
    const choice = coherentFrequency(example);
    expect(choice.cycles).toBe(901);
    expect(choice.frequency).toBe(43_994_140.625);
    expect(choice.distinctPhases).toBe(2048);
  });

  it("C2: 901 = 17·53 is coprime but not prime; asked for a prime, 907 is the nearest", () => {
    expect(coherentFrequency(example).isPrime).toBe(false);
    const prime = coherentFrequency({ ...example, prime: true });
    expect(prime.cycles).toBe(907);
    expect(prime.frequency).toBeCloseTo(44_287_109.375, 3);
    expect(prime.isPrime).toBe(true);
  });

  it("C3, C4: cycles that share no factor with the readings visit every phase", () => {
    expect(coherentFrequency({ rate: 32, wanted: 7, readings: 32 })).toMatchObject({ cycles: 7, distinctPhases: 32 });
    // Six cycles in 32 readings repeat after 16, so 6 is never chosen.
    expect(coherentFrequency({ rate: 32, wanted: 6, readings: 32 }).cycles).not.toBe(6);
    expect(coherentFrequency({ rate: 64, wanted: 13, readings: 64 })).toMatchObject({ cycles: 13, distinctPhases: 64 });
  });

  it("C5, A1, A2: where harmonics fold to (computed; A1 is a figure in Kester, Data Conversion Handbook, 2005, from memory)", () => {
    const bins = [1, 2, 3, 4, 5, 6, 7].map((h) => Math.round(foldedFrequency((h * 901) / 2048) * 2048));
    expect(bins).toEqual([901, 246, 655, 492, 409, 738, 163]);
    const megahertz = [1, 2, 3, 4, 5, 6, 7, 8, 9].map((h) => Math.round(foldedFrequency((h * 7) / 20) * 20));
    expect(megahertz).toEqual([7, 6, 1, 8, 5, 2, 9, 4, 3]);
    const hertz = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10].map((h) => Math.round(foldedFrequency((h * 123) / 1000) * 1000));
    expect(hertz).toEqual([123, 246, 369, 492, 385, 262, 139, 16, 107, 230]);
  });
});

describe("histogram record length", () => {
  // Doernberg, Lee and Hodges, "Full-speed testing of A/D converters", IEEE JSSC SC-19(6), 1984: M = π·2^(N−1)·z²/β² (formula seen); numbers computed, exact.
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
  ])("%i bits at %f within %f LSB", (bits, confidence, tolerance, readings) =>
    expect(readingsForDnl({ bits, halfWidth: tolerance, confidence })).toBe(readings),
  );

  it("H1: 100 ramp readings a code scatter by 0.1 LSB, ± 0.196 at 95 % (computed)", () =>
    // 1.959964/0.196 is a hair below 10, so a hair below 25 600 readings do.
    expect(readingsForRampDnl({ bits: 8, halfWidth: 0.196 }) / 256).toBeCloseTo(100, 1));

  it("H5: overdrive for 1 LSB of noise and 0.01 LSB (Blair, IEEE T-IM 43(3), 1994; formula from memory)", () =>
    expect(overdriveFor(1, 0.01)).toBeCloseTo(12.247, 3));
});

describe("tone record length", () => {
  // CHECKS 9: spread of the rms residual of M readings, computed as 1/√(2(M − 4)): M = 1024 gives 0.192 dB and 0.03194 bit, 4096 0.0960 dB and 0.01595 bit.
  it.each([
    [1024, 0.192, 0.03194],
    [4096, 0.096, 0.01595],
    [16384, 0.048, 0.00797],
  ])("%i readings", (readings, decibels, bits) => {
    // The table has three or four digits, and M goes with the square: 0.2 %, 0.6 % at the last row.
    expect(readingsForBits(1.959964 * bits) / readings).toBeCloseTo(1, 2);
    expect(readingsForDecibels(1.959964 * decibels) / readings).toBeCloseTo(1, 2);
  });
});

describe("thresholds", () => {
  const spec = (high: string) =>
    readBench(`converter: { bits: 12, range: { high: ${high} } }`, "x.yaml").bench!.captures[0]!;

  it("X1, X2: 3.0 V of 3.4 V at 12 bits is 3614 with 2^N rounded down, 3613 with 2^N − 1 rounded to nearest", () => {
    const threshold = codeForVoltage(spec("3.4 V"), 3);
    expect(threshold.powerOfTwo).toMatchObject({ divisor: 4096, code: 3614 });
    expect(threshold.oneLess).toMatchObject({ divisor: 4095, code: 3613 });
  });

  it("X3: 2.55 V full scale and 8 bits make 10 mV a code with the divisor 2^N − 1 (textbook example, seen)", () => {
    const eight = readBench("converter: { bits: 8, range: { high: 2.55 V } }", "x.yaml").bench!.captures[0]!;
    const { oneLess } = codeForVoltage(eight, 1.23);
    expect(oneLess.code).toBe(123);
    expect(oneLess.volts).toBeCloseTo(1.23, 12);
  });

  it("X4: mid-tread, 3 bits over 1 V: T1 at 0.0625 V and T7 at 0.8125 V (computed)", () => {
    const three = readBench("converter: { bits: 3, range: { high: 1 V } }", "x.yaml").bench!.captures[0]!;
    expect(codeForVoltage(three, 0.0625)).toMatchObject({ code: 1, window: { from: 0.0625 } });
    expect(codeForVoltage(three, 0.8125)).toMatchObject({ code: 7, window: { from: 0.8125, to: null } });
    expect(codeForVoltage(three, 0.8124).code).toBe(6);
  });

  it("X7, X8: the share of time a sine spends above a voltage is acos(…)/π (computed)", () => {
    expect(shareAbove(3, 1.7, 1.7)).toBeCloseTo(0.2228843, 7);
    expect(shareAbove(0.5, 1, 0)).toBeCloseTo(0.3333333, 7);
    expect(shareAbove(0.9, 1, 0)).toBeCloseTo(0.1435663, 7);
    expect(shareAbove(Math.SQRT1_2, 1, 0)).toBeCloseTo(0.25, 12);
  });
});
