import { describe, expect, it } from "vitest";
import { measureSteady } from "../../lib/measure/steady.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { steadyRecord } from "./steadyRecord.ts";

const SCALE = { bits: 12, low: 0, fsr: 4096, lsb: 1, topCode: 4095, firstTransition: 0.5 } as never;

/** A level of 2000.3 LSB with 0.6 LSB of noise and a line of this amplitude, as an ideal 12-bit converter gives it. */
function humming(readings: number, rate: number, amplitude: number, mains: number, seed: number) {
  const random = seededRandom(seed);
  const phase = 2 * Math.PI * random.uniform();
  const codes = Int32Array.from({ length: readings }, (_, n) =>
    Math.round(2000.3 + amplitude * Math.cos((2 * Math.PI * mains * n) / rate + phase) + 0.6 * random.normal()),
  );
  const record = steadyRecord(codes, SCALE, rate);
  return {
    ...record,
    hum: { mains: 50, lines: [{ order: 1, amplitude, cycles: mains / rate }] },
  };
}
const measured = (record: ReturnType<typeof humming>) => measureSteady(record, seededRandom(1)).estimates;

describe("hum in a steady record", () => {
  it("moves the mean by what a bounded sinusoid can, and no more", () => {
    // 4.4 periods of 5 LSB: |mean of the sinusoid| is at most 5/(880·sin(π·0.005)) = 0.362 LSB; 880 readings of 0.67 LSB rms leave ± 0.045 LSB.
    for (let seed = 1; seed <= 10; seed++) {
      const { meanCode } = measured(humming(880, 10_000, 5, 50, seed));
      expect((meanCode!.high! - meanCode!.low!) / 2).toBeLessThan(0.362 + 0.09);
    }
  });
  it("whose periods are whole leaves the mean as well known as noise alone, and the slope to 6·A/(π·k·M)", () => {
    // Σ(n − n̄)·sin(2πkn/M) = −M/2·cot(πk/M): k = 40 periods of 5 LSB tilt 8000 readings by up to 3.0e-5 LSB a reading. Noise is 0.67 LSB rms.
    const { meanCode, drift } = measured(humming(8000, 10_000, 5, 50, 3));
    expect((meanCode!.high! - meanCode!.low!) / 2).toBeLessThan((1.3 * 1.96 * 0.67) / Math.sqrt(8000));
    const tilt = (6 * 5) / (Math.PI * 40 * 8000);
    const noise = 1.6 * 1.96 * 0.67 * Math.sqrt(12) * 8000 ** -1.5;
    expect((drift!.high! - drift!.low!) / 2).toBeLessThan((tilt + noise) * 10_000);
  });
  it("intervals of the mean and the drift hold the level and no drift at all, at any length and rate", () => {
    let held = 0;
    let still = 0;
    const trials = 300;
    const random = seededRandom(9);
    for (let i = 0; i < trials; i++) {
      const rate = [333, 1000, 1234, 5000][i % 4]!;
      const readings = Math.round((rate / 50) * (3.2 + 20 * random.uniform()));
      const mains = 50 * (1 + 0.004 * (random.uniform() - 0.5));
      const { meanCode, drift } = measured(humming(readings, rate, 1 + 7 * random.uniform(), mains, i + 1));
      if (meanCode!.low! <= 2000.3 && meanCode!.high! >= 2000.3) held++;
      if (drift!.low! <= 0 && drift!.high! >= 0) still++;
    }
    // 95 % meant; 91.5 % is 2.8 standard deviations of 300 trials below.
    expect(held).toBeGreaterThan(0.915 * trials);
    expect(still).toBeGreaterThan(0.915 * trials);
  });
  it("in a record shorter than a period of the mains is said to pass for the level", () => {
    const { meanCode } = measured({ ...humming(100, 10_000, 3, 50, 2), hum: null } as never);
    expect(meanCode!.method).toContain("shorter than a period of the mains");
  });
});
