import { afterEach, describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { result } from "../compare/builtResult.ts";
import { simulatedCapture } from "../trim/simulatedCapture.ts";
import { resultFolder } from "./resultFiles.ts";

let folder: ReturnType<typeof resultFolder>;
afterEach(() => folder.remove());

const faults = { offset: 6.3, gainPercent: -0.8, bow: 0.4 };
const simulated = () =>
  result([simulatedCapture({ bits: 10, high: 2.048 }, faults).capture], { conditions: { board: "A-07" } });

const bench = `
title: River gauge logger, board A
conditions: { simulated: "yes" }
converter: { bits: 10, range: { low: 0 V, high: 2.048 V } }
captures:
  - name: levels
    file: levels.csv
    channel: code
    stimulus: { kind: steps, column: vin, direction: up, accuracy: { offset: 0.4 mV } }
  - name: tone
    file: tone.csv
    stimulus: { kind: sine, frequency: 0.01 Hz, amplitude: 0.9 V, offset: 1.024 V, accuracy: { offset: 0.4 mV } }
    sampleRate: 1 Hz
  - name: steady
    file: steady.csv
    stimulus: { kind: steady, voltage: 1.5 V, accuracy: { offset: 0.4 mV } }
  - name: ramp
    file: ramp.csv
    stimulus: { kind: ramp, from: 0.1 V, to: 1.9 V, accuracy: { offset: 0.4 mV } }
`;

/** Logs of a simulated 10-bit converter with input noise of 0.6 LSB: known transitions, known stimulus. */
function logs(f: typeof faults): Record<string, string> {
  const scale = scaleOf({ bits: 10, low: 0, high: 2.048, firstTransition: 0.5 });
  const T = simulatedTransitions(scale, f);
  const random = seededRandom(5);
  const read = (volts: number): number => convert(T, volts + 0.6 * scale.lsb * random.normal());
  const column = (n: number, volts: (i: number) => number): string =>
    `${Array.from({ length: n }, (_, i) => read(volts(i))).join("\n")}\n`;
  const levels = Array.from({ length: 9 }, (_, i) => 0.2 + 0.2 * i);
  return {
    "levels.csv": `vin,code\n${levels.flatMap((v) => Array.from({ length: 200 }, () => `${v.toFixed(4)},${read(v)}`)).join("\n")}\n`,
    "tone.csv": column(5000, (n) => 1.024 + 0.9 * Math.cos(2 * Math.PI * 0.0100003 * n + 1)),
    "steady.csv": column(2000, () => 1.5),
    "ramp.csv": column(5000, (n) => 0.1 + (1.8 * n) / 4999),
  };
}

describe("codestair trim", () => {
  it("says what it brings, writes the header beside the input, and marks simulated data", async () => {
    folder = resultFolder({
      "boardA.json": { ...simulated(), bench: { ...simulated().bench, conditions: { simulated: "yes" } } },
    });
    const { out, err, status } = await folder.run("trim", "boardA.json", "--table", "17");
    expect(err).toBe("");
    expect(status).toBe(0);
    expect(out).toMatch(/^Correcting offset, gain and the table brings the largest error over 1024 codes/);
    expect(out).toContain("Simulated data");
    expect(
      Math.max(
        ...out
          .split("\n")
          .filter((l) => !l.startsWith("Header:"))
          .map((l) => [...l].length),
      ),
    ).toBeLessThanOrEqual(80);
    const header = folder.read("boardA.trim.h");
    expect(header).toContain("static inline uint16_t trim_code(uint16_t code)");
    expect(header).toContain("Simulated data");
  });

  it("gives constants and residuals as JSON", async () => {
    folder = resultFolder({ "boardA.json": simulated() });
    const { out } = await folder.run("trim", "boardA.json", "--json", "-", "--no-header", "--accumulator", "16");
    const json = JSON.parse(out);
    expect(json.floatingPoint.slope).toBeCloseTo(1 / 0.992, 12);
    expect(json.floatingPoint.intercept).toBeCloseTo(-6.3 / 0.992, 12);
    expect(json.fixedPoint).toMatchObject({ accumulatorBits: 16 });
    expect(json.residual.before.max).toBeGreaterThan(5);
    expect(json.residual.unrounded.max).toBeLessThan(0.5);
    expect(() => folder.read("boardA.trim.h")).toThrow();
  });

  // The bow of 0.4 LSB and rounding stay; the source's ±0.4 mV is 0.2 LSB.
  it.each(["levels.csv", "tone.csv", "steady.csv", "ramp.csv"])(
    "confirms the constants on %s of the same converter",
    async (log) => {
      folder = resultFolder({ "boardA.json": simulated(), "bench.yaml": bench, ...logs(faults) });
      const { out, err, status } = await folder.run(
        "trim",
        "boardA.json",
        "--bench",
        "bench.yaml",
        "--check",
        log,
        "--no-header",
      );
      expect(err).toBe("");
      expect(out).toContain("CONFIRMED");
      expect(status).toBe(0);
    },
  );

  it.each(["levels.csv", "tone.csv", "steady.csv", "ramp.csv"])(
    "refutes them on %s of a converter that has drifted by 4 LSB",
    async (log) => {
      folder = resultFolder({ "boardA.json": simulated(), "bench.yaml": bench, ...logs({ ...faults, offset: 10.3 }) });
      const { out, status } = await folder.run(
        "trim",
        "boardA.json",
        "--bench",
        "bench.yaml",
        "--check",
        log,
        "--no-header",
      );
      expect(out).toContain("REFUTED");
      expect(status).toBe(1);
    },
  );

  it("says that a check which knows its voltages too badly decides nothing", async () => {
    const vague = bench.replaceAll("0.4 mV", "60 mV");
    folder = resultFolder({ "boardA.json": simulated(), "bench.yaml": vague, ...logs(faults) });
    const { out, status } = await folder.run(
      "trim",
      "boardA.json",
      "--bench",
      "bench.yaml",
      "--check",
      "steady.csv",
      "--no-header",
    );
    expect(out).toContain("UNDECIDED");
    expect(status).toBe(3);
  });

  it("asks for the bench file when a result is to be checked, and for another setting's own trim", async () => {
    const other = bench.replace("bits: 10", "bits: 12");
    folder = resultFolder({ "boardA.json": simulated(), "bench.yaml": other, ...logs(faults) });
    const without = await folder.run("trim", "boardA.json", "--check", "steady.csv", "--no-header");
    expect(without).toMatchObject({ status: 2 });
    expect(without.err).toContain("--bench FILE");
    const wrong = await folder.run(
      "trim",
      "boardA.json",
      "--bench",
      "bench.yaml",
      "--check",
      "steady.csv",
      "--no-header",
    );
    expect(wrong).toMatchObject({ status: 2 });
    expect(wrong.err).toContain("same setting");
  });

  it.each([
    ["--accumulator", "24"],
    ["--prefix", "a-b"],
    ["--table", "many"],
    ["--table", "20"],
    ["--capture", "gone"],
  ])("refuses %s %s", async (option, value) => {
    folder = resultFolder({ "boardA.json": simulated() });
    const { status, err } = await folder.run("trim", "boardA.json", option, value, "--no-header");
    expect(status).toBe(2);
    expect(err).not.toBe("");
  });
});
