import { describe, expect, it } from "vitest";
import { readBench } from "../../lib/bench/readBench.ts";
import { settling } from "../../lib/plan/settling.ts";

const converter = (keys: string) =>
  readBench(`converter: { bits: 12, range: { high: 2.5 V }, ${keys} }`, "x.yaml").bench!.converter;
const TIMING = "clock: 4 MHz, sampleCycles: 24, conversionCycles: 15";

describe("settling", () => {
  it("says that the river gauge's input settles, and what would still do", () => {
    const found = settling(
      converter(`${TIMING}, input: { sourceResistance: 4.7 k, switchResistance: 2 k, sampleCapacitance: 8 pF }`),
    )!;
    // (4700 + 2000) Ω · 8 pF · ln 2^13 = 482.98 ns of 24/4 MHz = 6 µs; by hand.
    expect(found.needed * 1e9).toBeCloseTo(482.98, 2);
    expect(found.available).toBeCloseTo(6e-6, 12);
    expect(found.settles).toBe(true);
    // 482.98 ns are 1.93 clocks.
    expect(found.fewestCycles).toBe(2);
    // 6 µs/(8 pF · ln 2^13) − 2 kΩ.
    expect(found.mostSourceResistance).toBeCloseTo(6e-6 / (8e-12 * 13 * Math.LN2) - 2000, 6);
  });

  it("gives the resistance and the clocks at which ½ LSB is left, exactly", () => {
    const tight = settling(
      converter(`${TIMING}, input: { sourceResistance: 100 k, switchResistance: 1 k, sampleCapacitance: 8 pF }`),
    )!;
    expect(tight.settles).toBe(false);
    expect(tight.left).toBeGreaterThan(0.5);
    const atLimit = settling(
      converter(
        `${TIMING}, input: { sourceResistance: ${tight.mostSourceResistance}, switchResistance: 1 k, sampleCapacitance: 8 pF }`,
      ),
    )!;
    expect(atLimit.left).toBeCloseTo(0.5, 9);
    const longer = (cycles: number) =>
      settling(
        converter(
          `clock: 4 MHz, sampleCycles: ${cycles}, conversionCycles: 15, input: { sourceResistance: 100 k, switchResistance: 1 k, sampleCapacitance: 8 pF }`,
        ),
      )!;
    expect(longer(tight.fewestCycles).settles).toBe(true);
    expect(longer(tight.fewestCycles - 1).settles).toBe(false);
  });

  it("says with a negative resistance that the switch alone is too slow", () => {
    const hopeless = settling(
      converter(
        "clock: 100 MHz, sampleCycles: 1, conversionCycles: 15, input: { sourceResistance: 0, switchResistance: 10 k, sampleCapacitance: 8 pF }",
      ),
    )!;
    expect(hopeless.mostSourceResistance).toBeLessThan(0);
  });

  it("settles at once through no resistance", () => {
    const ideal = settling(
      converter(`${TIMING}, input: { sourceResistance: 0, switchResistance: 0, sampleCapacitance: 8 pF }`),
    )!;
    expect(ideal).toMatchObject({ settles: true, left: 0, needed: 0 });
  });

  it("claims nothing without clock, resistance or capacitor", () => {
    expect(settling(converter("input: { sourceResistance: 1 k, sampleCapacitance: 8 pF }"))).toBeNull();
    expect(settling(converter(`${TIMING}, input: { sampleCapacitance: 8 pF }`))).toBeNull();
    expect(settling(converter(`${TIMING}, input: { sourceResistance: 1 k }`))).toBeNull();
  });
});
