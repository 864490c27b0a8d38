import { describe, expect, it } from "vitest";
import type { MetricName } from "../../lib/bench/metrics.ts";
import { measureHistogram } from "../../lib/measure/histogram.ts";
import type { Estimate, Measurement } from "../../lib/measure/measurement.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitTriangle } from "../../lib/signal/triangleFit.ts";
import { simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { type StaticTruth, staticTruth } from "../../lib/simulate/staticTruth.ts";
import { ramp, recordOf, type SweepSpec, simulatedSweep, sine } from "./simulatedSweep.ts";

const STATIC = [
  "offsetError",
  "offsetAtLow",
  "gainError",
  "inlMax",
  "inlMin",
  "dnlMax",
  "dnlMin",
  "missingCodes",
  "totalUnadjustedError",
] as const;

function measured(spec: SweepSpec, random = 1): { m: Measurement; truth: StaticTruth; T: Float64Array } {
  const { record, T } = simulatedSweep(spec);
  const m = measureHistogram(record, seededRandom(random));
  const curve = m.curves.transitions;
  const first = curve?.first ?? 1;
  const last = curve ? first + curve.volts.length - 1 : record.scale.topCode;
  return { m, T, truth: staticTruth(T, record.scale, record.spec.converter.line, first, last) };
}

function get(m: Measurement, name: MetricName): Estimate {
  return m.estimates[name]!;
}

const FAULTS = { offset: 1.3, gainPercent: 0.4, bow: 1.2, dnlSigma: 0.12, majorCarry: 0.6, seed: 2 };

describe("measureHistogram finds what the converter was made with", () => {
  const cases: [string, SweepSpec][] = [
    ["coherent sine", { bits: 8, readings: 16_384, noise: 0.3, stimulus: { kind: "sine" }, cycles: 1171 / 16_384 }],
    [
      "sine of 12.4 cycles",
      { bits: 8, readings: 16_384, noise: 0.3, stimulus: { kind: "sine" }, cycles: 12.4 / 16_384 },
    ],
    ["noise-free sine", { bits: 8, readings: 16_384, noise: 0, stimulus: { kind: "sine" } }],
    [
      "heavily overdriven sine",
      { bits: 8, readings: 20_000, noise: 0.5, stimulus: { kind: "sine", amplitude: 200, offset: 131 } },
    ],
    ["ramp", { bits: 8, readings: 10_000, noise: 0.5, stimulus: { kind: "ramp" } }],
    [
      "falling ramp",
      {
        bits: 8,
        readings: 10_000,
        noise: 0.5,
        stimulus: ramp(262, -5) as Extract<ReturnType<typeof ramp>, { kind: "ramp" }>,
      },
    ],
    [
      "triangle of 3.3 cycles",
      { bits: 8, readings: 10_000, noise: 0.5, stimulus: { kind: "triangle" }, cycles: 3.3 / 10_000 },
    ],
    ["best fit", { bits: 8, readings: 16_384, noise: 0.3, stimulus: { kind: "sine" }, line: "best-fit" }],
  ];
  it.each(cases)("%s", (_, spec) => {
    const { m, truth } = measured({ faults: FAULTS, ...spec });
    for (const name of STATIC) {
      const { value, low, high } = get(m, name);
      expect(value, name).not.toBeNull();
      // One record: twice the half-width fails by chance once in ten thousand.
      const half = Math.max((high! - low!) / 2, 1e-9);
      expect(Math.abs(value! - truth[name]), name).toBeLessThan(2 * half + 1e-9);
      expect(half, name).toBeLessThan(name === "missingCodes" ? 1 : 0.7);
    }
    expect(m.findings).toEqual([]);
  });
});

describe("intervals hold the truth", () => {
  // 60 records a cell with fresh converters and phases; at 95 % fewer than 51 held has a chance of 1 in 10 000 a figure, and 40 figures are looked at.
  const cells: [string, Omit<SweepSpec, "faults" | "seed">][] = [
    [
      "8 bits, 4096 readings of a coherent sine, 0.3 LSB",
      { bits: 8, readings: 4096, noise: 0.3, stimulus: { kind: "sine" }, cycles: 293 / 4096 },
    ],
    [
      "8 bits, 3000 readings of a sine of 41.37 cycles, 1 LSB",
      { bits: 8, readings: 3000, noise: 1, stimulus: { kind: "sine" }, cycles: 41.37 / 3000 },
    ],
    ["8 bits, 2048 readings of a ramp, 0.3 LSB", { bits: 8, readings: 2048, noise: 0.3, stimulus: { kind: "ramp" } }],
    [
      "8 bits, 4096 readings of a triangle, 0.1 LSB",
      { bits: 8, readings: 4096, noise: 0.1, stimulus: { kind: "triangle" }, cycles: 5.21 / 4096 },
    ],
  ];
  it.each(cells)("%s", (_, cell) => {
    const held: Partial<Record<MetricName, number>> = {};
    const per = { T: 0, inl: 0, dnl: 0, of: 0 };
    const random = seededRandom(21);
    for (let n = 1; n <= 60; n++) {
      const { m, truth, T } = measured(
        { ...cell, start: random.uniform(), seed: n, faults: { ...FAULTS, seed: n } },
        n,
      );
      for (const name of STATIC) {
        const { low, high } = get(m, name);
        if (low === null || high === null) continue;
        if (truth[name] >= low - 1e-9 && truth[name] <= high + 1e-9) held[name] = (held[name] ?? 0) + 1;
      }
      const { first, volts, voltsU, inl, inlU, dnl, dnlU } = m.curves.transitions!;
      for (let i = 1; i < volts.length - 1; i++) {
        per.of++;
        if (Math.abs(volts[i]! - T[first + i]!) <= 1.96 * voltsU[i]!) per.T++;
        if (Math.abs(inl[i]! - truth.inl[first + i]!) <= 1.96 * inlU[i]!) per.inl++;
        if (Math.abs(dnl[i]! - truth.dnl[first + i]!) <= 1.96 * dnlU[i]!) per.dnl++;
      }
    }
    for (const name of STATIC) if (held[name] !== undefined) expect(held[name], name).toBeGreaterThanOrEqual(51);
    // 15 000 codes, but those of one record move together through its end points: a share scatters by about 1 %.
    for (const share of [per.T / per.of, per.inl / per.of, per.dnl / per.of]) {
      expect(share).toBeGreaterThan(0.92);
      expect(share).toBeLessThan(0.98);
    }
  });
});

describe("source limits", () => {
  const accuracy = { frequency: 0, amplitude: 0.01, offset: 0.5 };
  it("of a sine go to gain, offset and total error, not to DNL and INL", () => {
    const { m } = measured({ bits: 8, readings: 8192, noise: 0.3, stimulus: { kind: "sine", accuracy } });
    expect(get(m, "gainError").limits).toEqual([{ from: "source amplitude", halfWidth: 1 }]);
    // 1 % of the 128 LSB between 0 V and the sine's offset; a shift of 0.5 LSB.
    expect(get(m, "offsetError").limits).toEqual([
      { from: "source amplitude", halfWidth: 1.28 },
      { from: "source offset", halfWidth: 0.5 },
    ]);
    expect(get(m, "totalUnadjustedError").limits.length).toBe(2);
    expect(get(m, "inlMax").limits).toEqual([]);
    expect(get(m, "dnlMax").limits).toEqual([]);
  });
  it("a wrong source moves offset and gain by no more than the limits say", () => {
    for (const sign of [-1, 1]) {
      const { m, truth } = measured({
        bits: 8,
        readings: 8192,
        noise: 0.3,
        stimulus: { kind: "sine", accuracy },
        applied: { scale: sign * 0.01, shift: sign * 0.5 },
      });
      for (const name of ["offsetError", "gainError", "offsetAtLow", "totalUnadjustedError"] as const) {
        const { value, low, high, limits } = get(m, name);
        const reach = limits.reduce((sum, l) => sum + l.halfWidth, (high! - low!) / 2);
        expect(Math.abs(value! - truth[name]), name).toBeLessThan(1.1 * reach);
      }
      // What the source got wrong does not touch the shape.
      expect(get(m, "inlMax").value!).toBeCloseTo(truth.inlMax, 0);
    }
  });
  it("a ramp's linearity goes into INL and total error", () => {
    const stimulus = {
      ...ramp(-5, 261),
      accuracy: { gain: 0, offset: 0, linearity: 0.001, repeatability: 0 },
    } as Extract<ReturnType<typeof ramp>, { kind: "ramp" }>;
    const { m } = measured({ bits: 8, readings: 8192, noise: 0.3, stimulus });
    expect(get(m, "inlMax").limits[0]).toMatchObject({ from: "source linearity" });
    expect(get(m, "inlMax").limits[0]!.halfWidth).toBeCloseTo(0.266, 9);
    expect(get(m, "dnlMax").limits).toEqual([]);
  });
  it("a sine source's stated distortion may bend INL by twice the harmonic", () => {
    const purity = { thd: -40, snr: null };
    const { m } = measured({ bits: 8, readings: 8192, noise: 0.3, stimulus: { kind: "sine", purity } });
    expect(get(m, "inlMax").limits[0]!.halfWidth).toBeCloseTo(2 * 256 * 0.52 * 0.01, 9);
  });
});

describe("what a record cannot support is null with a reason", () => {
  const nullOf = (m: Measurement, name: MetricName): string => {
    const e = get(m, name);
    expect(e.value, name).toBeNull();
    expect(e.reason, name).toBeTruthy();
    return e.reason!;
  };
  it("a sine without stated amplitude: shape yes, offset and gain no", () => {
    const { record, T } = simulatedSweep({
      bits: 8,
      readings: 16_384,
      noise: 0.3,
      stimulus: { kind: "sine" },
      faults: FAULTS,
    });
    const m = measureHistogram(
      { ...record, stimulus: { ...record.stimulus!, amplitude: null } as never },
      seededRandom(1),
    );
    const truth = staticTruth(T, record.scale, "endpoint");
    for (const name of ["inlMax", "inlMin", "dnlMax", "dnlMin"] as const) {
      const { low, high } = get(m, name);
      expect(truth[name]).toBeGreaterThan(low! - 0.1);
      expect(truth[name]).toBeLessThan(high! + 0.1);
    }
    for (const name of ["offsetError", "offsetAtLow", "gainError", "totalUnadjustedError"] as const)
      expect(nullOf(m, name)).toMatch(/states no amplitude/);
  });
  it("a sine over 60 % of the range: finding, nulls, the tested codes still shown", () => {
    const { m } = measured({
      bits: 8,
      readings: 16_384,
      noise: 0.3,
      stimulus: { kind: "sine", amplitude: 77, offset: 128 },
    });
    const finding = m.findings.find((f) => f.id === "range-not-exercised")!;
    expect(finding.text).toMatch(/T\[5\d\] to T\[20\d\]/);
    for (const name of STATIC)
      expect(nullOf(m, name)).toMatch(name === "offsetAtLow" ? /T\[1\] was not reached/ : /95 % are needed/);
    const { first, dnl } = m.curves.transitions!;
    expect(first).toBeGreaterThan(45);
    expect(dnl.length).toBeLessThan(160);
    expect(m.curves.histogram!.expected[10]).toBeNaN();
  });
  it("a sine at 97 % of the range is claimed, over the transitions it reached; the lowest transition is not", () => {
    const { m } = measured({
      bits: 8,
      readings: 16_384,
      noise: 0.3,
      stimulus: { kind: "sine", amplitude: 125, offset: 128 },
    });
    expect(get(m, "inlMax").value).not.toBeNull();
    expect(get(m, "inlMax").method).toMatch(/T\[[3-5]\] to T\[25[0-3]\]/);
    expect(nullOf(m, "offsetAtLow")).toMatch(/T\[1\] was not reached/);
  });
  it("a frequency of 10/73 of the sample rate: 73 phases", () => {
    const { m } = measured({ bits: 12, readings: 20_000, noise: 0.3, stimulus: { kind: "sine" }, cycles: 10 / 73 });
    expect(m.findings.map((f) => f.id)).toContain("few-phases");
    expect(m.findings[0]!.text).toMatch(/about (7[0-9]|1[0-4][0-9]) different points/);
    for (const name of STATIC) nullOf(m, name);
  });
  it("1 200 readings of a 12-bit converter: DNL null, with the readings needed", () => {
    const { m } = measured({ bits: 12, readings: 1200, noise: 0.3, stimulus: { kind: "sine" } });
    expect(nullOf(m, "dnlMax")).toMatch(/^1200 readings .*about 2\.5 million needed for ±0\.1 LSB$/);
    nullOf(m, "missingCodes");
    expect(get(m, "gainError").value).not.toBeNull();
  });
  it("sixty readings copied by hand: no static figure but bounds", () => {
    const { m } = measured({ bits: 12, readings: 60, noise: 0.3, stimulus: { kind: "sine" } });
    for (const name of STATIC) if (name !== "offsetAtLow") nullOf(m, name);
  });
  it("readings that are no sine, no ramp, or all equal", () => {
    const random = seededRandom(4);
    const scatter = Int32Array.from({ length: 500 }, () => Math.floor(256 * random.uniform()));
    for (const stimulus of [sine(140, 128), ramp(0, 256)])
      for (const codes of [scatter, new Int32Array(500).fill(77), new Int32Array(0), Int32Array.of(5)]) {
        const m = measureHistogram(recordOf(codes, 8, stimulus), random);
        for (const name of STATIC) nullOf(m, name);
      }
    expect(nullOf(measureHistogram(recordOf(scatter, 8, ramp(0, 256)), random), "inlMax")).toMatch(/do not follow/);
  });
  it("a ramp with readings missing in the middle", () => {
    const { record } = simulatedSweep({ bits: 8, readings: 4000, noise: 0.3, stimulus: { kind: "ramp" } });
    const m = measureHistogram(
      {
        ...record,
        clean: [
          [0, 1999],
          [2010, 3999],
        ],
      },
      seededRandom(1),
    );
    expect(nullOf(m, "gainError")).toMatch(/readings are missing within the ramp/);
  });
  it("a 32-bit converter has too many codes for a histogram", () => {
    const m = measureHistogram(recordOf(new Int32Array(100), 32, ramp(0, 1)), seededRandom(1));
    expect(nullOf(m, "dnlMax")).toMatch(/billions of readings/);
  });
});

describe("records that are not plain", () => {
  it("codes outside the range are counted at the ends and do no harm", () => {
    const { record } = simulatedSweep({
      bits: 8,
      readings: 16_384,
      noise: 0.3,
      stimulus: { kind: "sine" },
      faults: FAULTS,
    });
    const codes = record.codes.map((c) => (c === 255 ? 300 : c === 0 ? -40 : c));
    const plain = measureHistogram(record, seededRandom(1));
    const outside = measureHistogram({ ...record, codes }, seededRandom(1));
    expect(get(outside, "gainError").value).toBeCloseTo(get(plain, "gainError").value!, 6);
  });
  it.each(["sine", "ramp", "triangle"] as const)(
    "a %s with eight wrong readings: they are left out, and said so",
    (kind) => {
      const spec: SweepSpec = {
        bits: 10,
        readings: 20_000,
        noise: 0.5,
        stimulus: { kind },
        cycles: 7.3 / 20_000,
        faults: FAULTS,
      };
      const { record, T } = simulatedSweep(spec);
      const codes = record.codes.map((c, n) => (n % 2500 === 700 ? c ^ 256 : c));
      const m = measureHistogram({ ...record, codes }, seededRandom(1));
      const truth = staticTruth(T, record.scale, "endpoint");
      for (const name of STATIC) {
        const { value, low, high } = get(m, name);
        // One record: twice the half-width, as above; and no wider than without the wrong readings.
        if (value !== null) expect(Math.abs(value - truth[name]), name).toBeLessThan(high! - low! + 1e-9);
        if (name !== "missingCodes") expect(high! - low!, name).toBeLessThan(1.6);
      }
      // A flipped bit at a rail may land on a code that is possible there.
      expect(get(m, "gainError").method).toMatch(/[5-8] outlying readings left out/);
    },
  );
  it("each clean stretch of a sine has a phase of its own", () => {
    const { record, T } = simulatedSweep({
      bits: 8,
      readings: 16_384,
      noise: 0.3,
      stimulus: { kind: "sine" },
      faults: FAULTS,
    });
    // 37 readings lost: what follows moves up.
    const codes = Int32Array.from([...record.codes.subarray(0, 7000), ...record.codes.subarray(7037)]);
    const m = measureHistogram(
      {
        ...record,
        codes,
        clean: [
          [0, 6999],
          [7000, codes.length - 1],
        ],
        fit: null,
      },
      seededRandom(1),
    );
    const truth = staticTruth(T, record.scale, "endpoint");
    for (const name of ["offsetError", "gainError", "inlMax", "dnlMin"] as const) {
      const { value, low, high } = get(m, name);
      expect(Math.abs(value! - truth[name]), name).toBeLessThan(high! - low!);
    }
    expect(get(m, "gainError").method).toMatch(/2 stretches/);
  });
  it("more readings than positions are kept for give the same figures", () => {
    // 2^18 positions are kept exactly; 300 000 readings are counted in buckets. Without noise the transitions are known to a few thousandths.
    const { m, truth } = measured({
      bits: 8,
      readings: 300_000,
      noise: 0.02,
      stimulus: { kind: "sine" },
      faults: FAULTS,
    });
    for (const name of ["offsetError", "gainError", "inlMax", "dnlMax"] as const)
      expect(Math.abs(get(m, name).value! - truth[name]), name).toBeLessThan(0.03);
  });
  it("a bipolar range: offset is what the converter reads at 0 V, mid-scale", () => {
    const { record } = simulatedSweep({ bits: 8, readings: 16_384, noise: 0.3, stimulus: { kind: "sine" } });
    // The same codes, but the range runs from −128 V to 128 V and so does the sine.
    const moved = recordOf(record.codes, 8, sine(256 * 0.52, 0), "endpoint", record.clean, [-128, 128]);
    const m = measureHistogram(moved, seededRandom(1));
    expect(Math.abs(get(m, "offsetError").value!)).toBeLessThan(0.15);
    expect(get(m, "offsetError").high! - get(m, "offsetError").low!).toBeLessThan(0.2);
  });
  it("names a missing code when the record is long enough, and only then", () => {
    const faults = { missing: [100], dnlSigma: 0.05, seed: 3 };
    const long = measured({ bits: 8, readings: 60_000, noise: 0.3, stimulus: { kind: "sine" }, faults });
    expect(long.m.curves.transitions!.missing).toEqual([100]);
    expect(get(long.m, "missingCodes")).toMatchObject({ value: 1, low: 1, high: 1 });
    expect(get(long.m, "dnlMin").low).toBeGreaterThanOrEqual(-1);
    const short = measured({ bits: 8, readings: 1500, noise: 0.3, stimulus: { kind: "sine" }, faults });
    expect(short.m.curves.transitions!.missing).toEqual([]);
    expect(short.m.curves.transitions!.possiblyMissing).toContain(100);
  });
});

describe("hysteresis", () => {
  /** A converter that switches by `width` later on the way up. */
  function withHysteresis(kind: "sine" | "triangle", width: number, start: number) {
    const cycles = 37 / 30_000;
    const { record, T } = simulatedSweep({ bits: 8, readings: 30_000, noise: 0.4, stimulus: { kind }, cycles, start });
    const random = seededRandom(6);
    const codes = record.codes.map((_, n) => {
      const x = cycles * n + start;
      const turn = x - Math.floor(x);
      const v =
        kind === "sine"
          ? 128 + 256 * 0.52 * Math.cos(2 * Math.PI * turn)
          : -5.12 + 266.24 * (turn < 0.5 ? 2 * turn : 2 - 2 * turn);
      const rising = kind === "sine" ? turn > 0.5 : turn < 0.5;
      const seen = v + (rising ? -width / 2 : width / 2) + 0.4 * random.normal();
      let code = 0;
      while (code < 255 && T[code + 1]! <= seen) code++;
      return code;
    });
    return measureHistogram({ ...record, codes }, seededRandom(1));
  }
  it("of a sine: a constant difference of both slopes is found beside the delay that the fit took up", () => {
    const e = get(withHysteresis("sine", 2, 0.1), "hysteresis");
    expect(e.low!).toBeLessThan(2);
    expect(e.high!).toBeGreaterThan(2);
    expect(e.high! - e.low!).toBeLessThan(1.5);
  });
  it("of a converter without: zero lies in the interval", () => {
    const e = get(withHysteresis("sine", 0, 0.1), "hysteresis");
    expect(e.low).toBe(0);
    expect(e.high!).toBeLessThan(1);
  });
  it("of a triangle that may be delayed: not claimed, because a delay looks the same", () => {
    const e = get(withHysteresis("triangle", 2, 0.1), "hysteresis");
    expect(e.value).toBeNull();
    expect(e.reason).toMatch(/cannot be told from a delay/);
    expect(e.high).toBeNull();
  });
  it("of a triangle that starts at its turning point: claimed", () => {
    const e = get(withHysteresis("triangle", 0, 0), "hysteresis");
    expect(e.value).not.toBeNull();
    expect(e.low).toBe(0);
  });
});

describe("fitTriangle", () => {
  it.each([3.3, 0.8, 41.7])("recovers a triangle of %f cycles whose tips are cut off by the rails", (cycles) => {
    const { record } = simulatedSweep({
      bits: 10,
      readings: 5000,
      noise: 0.5,
      stimulus: { kind: "triangle" },
      cycles: cycles / 5000,
      start: 0.37,
    });
    const fit = fitTriangle(record.codes, 1023, 0, 4999, cycles / 5000)!;
    expect(fit.frequency * 5000).toBeCloseTo(cycles, 2);
    expect(Math.abs(fit.start - 0.37)).toBeLessThan(6 * fit.startStandard + 1e-4);
    // 104 % of the range, peak to peak.
    expect(fit.amplitude).toBeCloseTo(0.52 * 1024, -1);
  });
  it("finds the frequency by itself", () => {
    const { record } = simulatedSweep({
      bits: 10,
      readings: 5000,
      noise: 0.5,
      stimulus: { kind: "triangle" },
      cycles: 7.3 / 5000,
    });
    expect(fitTriangle(record.codes, 1023, 0, 4999, null)!.frequency * 5000).toBeCloseTo(7.3, 2);
  });
  it("readings lost in the middle: the record is out of step, and no figure is claimed", () => {
    const { record } = simulatedSweep({
      bits: 10,
      readings: 20_000,
      noise: 0.5,
      stimulus: { kind: "triangle" },
      cycles: 12.3 / 20_000,
    });
    const codes = Int32Array.from([...record.codes.subarray(0, 9000), ...record.codes.subarray(9010)]);
    const m = measureHistogram({ ...record, codes, clean: [[0, codes.length - 1]] }, seededRandom(1));
    expect(get(m, "offsetError").value).toBeNull();
    expect(get(m, "offsetError").reason).toMatch(/lose step with the triangle/);
  });
  it("is null for readings at the rails alone", () =>
    expect(fitTriangle(new Int32Array(100), 1023, 0, 99, null)).toBeNull());
});

describe("the transition curve", () => {
  it("belongs to the transitions it says, and carries both directions", () => {
    const { m, T } = measured({ bits: 8, readings: 16_384, noise: 0.3, stimulus: { kind: "sine" }, faults: FAULTS });
    const curve = m.curves.transitions!;
    expect(curve.first).toBe(1);
    expect(curve.volts.length).toBe(255);
    expect(curve.dnl.at(-1)).toBeNaN();
    expect(curve.hysteresis!.length).toBe(255);
    expect(Math.abs(curve.volts[100]! - T[101]!)).toBeLessThan(0.4);
  });
  it("the histogram counts every code, and expects an ideal converter's counts", () => {
    const { m } = measured({ bits: 8, readings: 16_384, noise: 0, stimulus: { kind: "sine" }, cycles: 1171 / 16_384 });
    const { counts, expected } = m.curves.histogram!;
    expect(counts.reduce((a, b) => a + b)).toBe(16_384);
    expect(expected.reduce((a, b) => a + b)).toBeCloseTo(16_384, 3);
    // Ideal converter, even phases on two slopes: each edge of a code is one reading off at most on each.
    counts.forEach((c, k) => {
      expect(Math.abs(c - expected[k]!)).toBeLessThan(4);
    });
  });
  it("an ideal converter has no errors", () => {
    const { m } = measured({ bits: 8, readings: 65_536, noise: 0.2, stimulus: { kind: "sine" } });
    for (const name of ["offsetError", "offsetAtLow", "gainError", "inlMax", "inlMin"] as const)
      expect(Math.abs(get(m, name).value!)).toBeLessThan(0.1);
    expect(
      simulatedTransitions(
        simulatedSweep({ bits: 8, readings: 10, noise: 0, stimulus: { kind: "sine" } }).record.scale,
      )[1],
    ).toBe(0.5);
  });
});
