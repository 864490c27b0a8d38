import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { ProblemError } from "../../lib/bench/problem.ts";
import { applyTable } from "../../lib/trim/correctionTable.ts";
import { type AccumulatorBits, applyFixedPoint } from "../../lib/trim/fixedPoint.ts";
import { applyFloat } from "../../lib/trim/floatConstants.ts";
import { trimHeader } from "../../lib/trim/header.ts";
import { type Trim, trim } from "../../lib/trim/trim.ts";
import { capture, figure, result } from "../compare/builtResult.ts";
import { simulatedCapture } from "./simulatedCapture.ts";

const options = { file: "boardA.json", capture: null, accumulator: 32 as AccumulatorBits, tablePoints: null };

describe("trim of a simulated converter with known offset and gain", () => {
  // Signs and settings are what can go wrong: every one must come out at nothing left.
  it.each([
    ["reads high", {}, { offset: 3.2, gainPercent: 0.5 }],
    ["reads low", {}, { offset: -7.4, gainPercent: -0.8 }],
    ["first transition at 1 LSB", { firstTransition: 1 }, { offset: 2.5, gainPercent: -1.1 }],
    ["bipolar", { low: -2.5, high: 2.5, bits: 14 }, { offset: -12.3, gainPercent: 0.4 }],
    ["range that does not begin at 0 V", { low: 0.5, high: 3.0, bits: 10 }, { offset: 1.5, gainPercent: 2 }],
    ["firmware sums 16 and shifts by 2", { averaging: { readings: 16, shift: 2 } }, { offset: 9.1, gainPercent: 0.3 }],
  ] as const)("%s: no offset and no gain error is left", (_name, setting, faults) => {
    const t = trim(result([simulatedCapture(setting, faults).capture]), options);
    // Real numbers: exact but for doubles, except where the transitions cross an end (ideal transitions are evenly spaced).
    expect(t.residual.unrounded.max).toBeLessThan(1e-6);
    // Single precision has 24 bits: two roundings of a number below 2^14.6 LSB cost below 2^−8 LSB.
    expect(t.residual.float.max).toBeLessThan(0.01);
    // Whole codes: rounding to nearest costs half an LSB, rms 1/√12 where the fractions spread evenly; 5 % for their unevenness.
    expect(t.residual.fixed.max).toBeLessThanOrEqual(0.5 + t.fixed.arithmeticError + 1e-6);
    expect(t.residual.fixed.rms).toBeLessThan(1.05 / Math.sqrt(12));
    expect(t.residual.before.max).toBeGreaterThan(1);
    expect(t.worthwhile).toBe(true);
  });

  it("states the error before in closed form: largest at the end where offset and gain add up", () => {
    const { capture: c, scale } = simulatedCapture({}, { offset: 2, gainPercent: 1 });
    const t = trim(result([c]), options);
    // The top code, 4095, stands for the input (4095 − 2)/1.01 LSB.
    expect(t.residual.before.max).toBeCloseTo(4095 - (4095 - 2) / 1.01, 6);
    expect(t.residual.before.maxVolts).toBeCloseTo(t.residual.before.max * scale.lsb, 12);
    expect(t.residual.before.codes).toBe(4096);
  });

  it("leaves INL in place after the line and takes it out with a table", () => {
    const { capture: c } = simulatedCapture({}, { offset: 4, gainPercent: -0.6, bow: 3 });
    const t = trim(result([c]), { ...options, tablePoints: 33 });
    // INL is stated on the corrected scale (−ε/Q); at the input it is INL/G. A parabola of peak p has the rms p·√(8/15) over the range.
    expect(t.residual.unrounded.max).toBeCloseTo(3 / 0.994, 3);
    expect(t.residual.unrounded.rms).toBeCloseTo((3 / 0.994) * Math.sqrt(8 / 15), 2);
    // A chord over 1/32 of the range misses a parabola 4p·x(1 − x) by at most p/32² = 0.003 LSB; rounding to whole codes leaves half an LSB.
    expect(t.residual.table!.max).toBeLessThan(0.51);
    expect(t.residual.table!.rms).toBeLessThan(1.05 / Math.sqrt(12));
  });

  it("passes over codes that never come", () => {
    const { capture: c } = simulatedCapture({ bits: 8 }, { missing: [100] });
    const t = trim(result([c]), options);
    expect(t.residual.before.codes).toBe(255);
  });

  it("follows the line at codes that the capture did not test, and says how many were", () => {
    const { capture: c } = simulatedCapture({ bits: 8 }, { offset: 2 });
    const transitions = c.transitions!;
    const holed = { ...transitions, volts: transitions.volts.map((v, i) => (i < 10 ? null : v)) };
    const t = trim(result([{ ...c, transitions: holed }]), options);
    // Transitions 11…255 bound the codes 11…254.
    expect(t.inputs).toMatchObject({ from: "transitions", measured: 244 });
    expect(t.residual.unrounded.max).toBeLessThan(1e-6);
  });

  it("works from steps: between levels the converter is straight", () => {
    const { capture: c, scale } = simulatedCapture({}, { offset: 5, gainPercent: 1 }, { withTransitions: false });
    // Mean code of a level in closed form: V(y) = G·V + Vos, Q = 1 mV.
    const steps = Array.from({ length: 9 }, (_, i) => {
      const applied = 0.4 + 0.4 * i;
      return { applied, meanCode: (1.01 * applied) / scale.lsb + 5, standard: 0.01, inl: 0 };
    });
    const t = trim(result([{ ...c, steps }]), options);
    expect(t.inputs.from).toBe("levels");
    expect(t.residual.unrounded.max).toBeLessThan(1e-6);
    expect(t.cautions.join(" ")).toContain("Between the applied levels");
  });

  it("keeps a trim that is smaller than its own uncertainty apart", () => {
    const { capture: c } = simulatedCapture({}, { offset: 0.3, gainPercent: 0.005 }, { offsetU: 1, gainU: 0.02 });
    const t = trim(result([c]), options);
    expect(t.worthwhile).toBe(false);
    // At the top code, 4.095 V: 1 LSB + 0.02 % of 4095 LSB.
    expect(t.uncertainty).toMatchObject({ atCode: 4095 });
    expect(t.uncertainty!.worst).toBeCloseTo(1 + 0.0002 * 4095, 9);
  });
});

describe("trim chooses its capture", () => {
  const known = (name: string, u: number, channel = "adc0") =>
    capture(name, {
      channel,
      metrics: { offsetError: figure("offsetError", 1, u), gainError: figure("gainError", 0.1, u / 100) },
    });

  it("takes the one that knows its line best", () => {
    expect(trim(result([known("sine", 0.5), known("steps", 0.1)]), options).source.capture.name).toBe("steps");
  });

  it("refuses captures that know no offset or gain, with each one's reason", () => {
    const blind = capture("tone", {
      metrics: { offsetError: figure("offsetError", null, null, { reason: "the sine's offset is not stated" }) },
    });
    try {
      trim(result([blind, capture("noise")]), options);
      expect.unreachable();
    } catch (error) {
      const { problems } = error as ProblemError;
      expect(problems).toHaveLength(2);
      expect(problems[0]!.found).toContain("the sine's offset is not stated");
      expect(problems[1]!.found).toContain("gainError was not measured");
    }
  });

  it("asks which channel when there are two", () => {
    const two = result([known("a", 0.1, "adc0"), known("b", 0.1, "adc1")]);
    expect(() => trim(two, options)).toThrow(ProblemError);
    expect(trim(two, { ...options, capture: "b" }).source.capture.channel).toBe("adc1");
  });

  it("names the captures there are when the wanted one is not", () => {
    expect(() => trim(result([known("steps", 0.1)]), { ...options, capture: "step" })).toThrow(/one of: steps/);
  });
});

const hasCompiler = ((): boolean => {
  try {
    execFileSync("gcc", ["--version"], { stdio: "ignore" });
    return true;
  } catch {
    return false;
  }
})();

/** Compiles the header and runs it over every code: code, corrected, by table, and the volts' bits. */
function compiled(t: Trim, table: boolean): string[][] {
  const folder = mkdtempSync(join(tmpdir(), "codestair-trim-"));
  try {
    writeFileSync(join(folder, "trim.h"), trimHeader(t, { prefix: "gauge", heading: ["board */ A", "x"] }));
    const signed = t.source.capture.converter.coding === "twos-complement";
    const half = signed ? (t.scale.topCode + 1) / 2 : 0;
    writeFileSync(
      join(folder, "run.c"),
      `#include "trim.h"\n#include <stdio.h>\nint main(void) { for (long y = 0; y <= ${t.scale.topCode}L; y++)` +
        ` printf("%ld %ld %ld %.9g\\n", y, (long)gauge_code(y - ${half}) + ${half},` +
        ` ${table ? `(long)gauge_table_code(y - ${half}) + ${half}` : "0L"}, (double)gauge_volts(y - ${half})); return 0; }\n`,
    );
    const flags = [
      "-std=c99",
      "-Wall",
      "-Wextra",
      "-Werror",
      "-pedantic",
      "-O1",
      "-fsanitize=undefined",
      "-fno-sanitize-recover",
    ];
    execFileSync("gcc", [...flags, "run.c", "-o", "run"], { cwd: folder });
    const out = execFileSync(join(folder, "run"), { encoding: "utf8", maxBuffer: 2 ** 26 });
    return out
      .trim()
      .split("\n")
      .map((line) => line.split(" "));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

// Reported as skipped where no C compiler is installed: never as passed.
describe.skipIf(!hasCompiler)("the C header, compiled and run over every code", () => {
  it.each([
    ["12 bits in 32", {}, { offset: 3.2, gainPercent: 0.5, bow: 2 }, 32, 33],
    ["12 bits in 16", {}, { offset: -3.2, gainPercent: -0.5, bow: 2 }, 16, 17],
    ["16 bits in 64", { bits: 16 }, { offset: 40, gainPercent: -0.9, sCurve: 6 }, 64, 65],
    ["two's complement", { low: -1, high: 1, coding: "twos-complement" }, { offset: 6.7, gainPercent: -0.5 }, 32, 17],
    ["summed codes", { averaging: { readings: 10, shift: 1 } }, { offset: 6.7, gainPercent: 0.2 }, 32, 17],
  ] as const)("%s: the same as the arithmetic that trim ran", (_name, setting, faults, accumulator, tablePoints) => {
    const t = trim(result([simulatedCapture(setting, faults).capture]), { ...options, accumulator, tablePoints });
    const rows = compiled(t, true);
    expect(rows).toHaveLength(t.scale.topCode + 1);
    const wrong = rows.filter(([code, fixed, table]) => {
      const y = Number(code);
      return Number(fixed) !== applyFixedPoint(t.fixed, y) || Number(table) !== applyTable(t.table!, y);
    });
    expect(wrong).toEqual([]);
    for (const [code, , , volts] of rows) {
      // The compiler may fuse multiply and add, and two's complement moves the zero: two roundings of single precision.
      const expected = applyFloat(t.volts, Number(code));
      expect(Math.abs(Number(volts) - expected)).toBeLessThan(2 ** -22 * (t.scale.low + t.scale.fsr + 1));
    }
  });
});

describe("trimHeader", () => {
  const t = trim(result([simulatedCapture().capture]), options);
  it("lets no text end its comments", () => {
    const header = trimHeader(t, { prefix: "x", heading: ["*/ int evil; /*", "two\nlines \\", "??/"] });
    const code = header.replace(/\/\*[\s\S]*?\*\//g, "");
    expect(code).not.toContain("evil");
    expect(code).not.toContain("lines");
  });
  it("refuses a prefix that is no identifier", () => {
    expect(() => trimHeader(t, { prefix: "1x", heading: [] })).toThrow(RangeError);
  });
});
