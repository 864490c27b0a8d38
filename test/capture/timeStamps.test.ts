import { expect, it } from "vitest";
import { timeStamps } from "../../lib/capture/timeStamps.ts";

const made = (raw: number[], unit: "s" | "ms" | "us" | "ns" | "clock" | "ticks", rate?: number) =>
  timeStamps(Float64Array.from(raw), unit, "t", 1, rate);

it("counts seconds from the first stamp, to the last bit", () => {
  expect(Array.from(made([100, 120, 140], "us").stamps!.seconds)).toEqual([0, 0.00002, 0.00004]);
  expect(made([100, 120], "us").stamps!.resolution).toBe(1e-6);
});

it("unrolls 16, 24 and 32 bits", () => {
  for (const bits of [16, 24, 32]) {
    const size = 2 ** bits;
    const { stamps, setBack } = made([size - 20, size - 10, 0, 10], "ms");
    expect(Array.from(stamps!.seconds), `${bits} bits`).toEqual([0, 0.01, 0.02, 0.03]);
    expect(stamps!.rollovers).toBe(1);
    expect(setBack).toBe(0);
  }
});

it("a restart is no rollover", () => {
  const { stamps, setBack } = made([1000, 1010, 1020, 0, 10], "ms");
  expect(stamps!.rollovers).toBe(0);
  expect(setBack).toBe(1);
});

it("midnight passes", () => {
  expect(Array.from(made([86_398, 86_399, 0, 1], "clock").stamps!.seconds)).toEqual([0, 1, 2, 3]);
});

it("ticks need a rate", () => {
  expect(made([0, 100], "ticks").stamps).toBeNull();
  expect(made([0, 100], "ticks", 1e6).stamps!.seconds[1]).toBe(1e-4);
});

it("a reading without a stamp keeps NaN", () => {
  expect(Array.from(made([5, Number.NaN, 7], "s").stamps!.seconds)).toEqual([0, Number.NaN, 2]);
});
