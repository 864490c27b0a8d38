import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBench } from "../../lib/bench/readBench.ts";
import { scaleOf } from "../../lib/bench/scale.ts";
import { codeForVoltage, shareAbove, voltageForCode } from "../../lib/plan/threshold.ts";
import { convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";

const spec = (keys: string) => readBench(`converter: { ${keys} }`, "x.yaml").bench!.captures[0]!;

describe("codeForVoltage", () => {
  const setups = [
    spec("bits: 8, range: { high: 2.56 V }"),
    spec("bits: 10, range: { low: -1 V, high: 1 V }, firstTransition: 1"),
    spec("bits: 6, range: { high: 3.3 V }, averaging: { readings: 16, shift: 2 }"),
  ];

  it("agrees with an ideal converter whose transitions are counted one by one", () => {
    for (const setup of setups) {
      const scale = scaleOf(setup.converter);
      const T = simulatedTransitions(scale);
      fc.assert(
        fc.property(fc.double({ min: -0.2, max: 1.2, noNaN: true }), (share) => {
          const volts = scale.low + share * scale.fsr;
          // On a transition itself the last digit of a double decides; a millionth of an LSB away it does not.
          if (Math.abs(((volts - scale.low) / scale.lsb - scale.firstTransition) % 1) < 1e-6) return;
          expect(codeForVoltage(setup, volts).code).toBe(convert(T, volts));
        }),
      );
    }
  });

  it("includes a voltage on the transition itself, whatever its last digit", () => {
    const [setup] = setups;
    for (let k = 1; k <= 255; k++) expect(codeForVoltage(setup!, (k - 0.5) * 0.01).code).toBe(k);
  });

  it("gives the lowest and the highest code outside the range, and says so", () => {
    const [setup] = setups;
    expect(codeForVoltage(setup!, -5)).toMatchObject({ code: 0, isOutside: true, window: { from: null } });
    expect(codeForVoltage(setup!, 5)).toMatchObject({ code: 255, isOutside: true, window: { to: null } });
    expect(codeForVoltage(setup!, 5).oneLess.code).toBe(255);
  });

  it("names the word as it is logged", () => {
    expect(codeForVoltage(spec("bits: 12, range: { low: -1 V, high: 1 V }, coding: twos-complement"), 0).logged).toBe(
      0,
    );
    expect(codeForVoltage(spec("bits: 12, range: { low: -1 V, high: 1 V }, coding: twos-complement"), -1).logged).toBe(
      -2048,
    );
    expect(codeForVoltage(spec("bits: 12, range: { high: 1 V }, align: left"), 0.5).logged).toBe(2048 * 16);
    expect(codeForVoltage(spec("bits: 12, range: { high: 1 V }"), 0.5).logged).toBeNull();
  });
});

describe("voltageForCode", () => {
  it("is the inverse of codeForVoltage for every code", () => {
    const setup = spec("bits: 8, range: { high: 2.5 V }");
    for (let code = 0; code <= 255; code++) {
      const { window, middle } = voltageForCode(setup, code);
      expect(codeForVoltage(setup, middle).code).toBe(code);
      if (window.from !== null) expect(codeForVoltage(setup, window.from + 1e-9).code).toBe(code);
      if (window.to !== null) expect(codeForVoltage(setup, window.to - 1e-9).code).toBe(code);
    }
  });

  it("refers the voltage back to the source", () => {
    const { bench } = readBench(
      "converter: { bits: 8, range: { high: 2.56 V } }\nfrontEnd: { gain: 0.5, offset: 0.28 V }",
      "x",
    );
    // Code 128 stands for 1.28 V at the pin: (1.28 − 0.28)/0.5 = 2 V.
    expect(voltageForCode(bench!.captures[0]!, 128).atSource).toBeCloseTo(2, 12);
  });

  it("refuses a code that the converter does not have", () => {
    const setup = spec("bits: 8, range: { high: 2.5 V }");
    for (const code of [-1, 256, 1.5, Number.NaN]) expect(() => voltageForCode(setup, code)).toThrow(/from 0 to 255/);
  });
});

describe("shareAbove", () => {
  it("counts a sampled sine", () => {
    const readings = 100_000;
    for (const [volts, amplitude, offset] of [
      [1.8, 1.2, 1.25],
      [0.2, 1.2, 1.25],
    ] as const) {
      let above = 0;
      for (let n = 0; n < readings; n++)
        if (offset + amplitude * Math.cos((2 * Math.PI * (n + 0.5)) / readings) > volts) above++;
      // Whole readings: at most two of 100 000 lie at an edge.
      expect(Math.abs(shareAbove(volts, amplitude, offset) - above / readings)).toBeLessThan(2.1e-5);
    }
  });

  it("is nothing above the crest and everything below the trough", () => {
    expect(shareAbove(3, 1, 1)).toBe(0);
    expect(shareAbove(-1, 1, 1)).toBe(1);
    expect(shareAbove(2, 1, 1)).toBe(0);
  });
});
