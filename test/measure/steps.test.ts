import { describe, expect, it } from "vitest";
import type { Converter, LevelAccuracy, StepsStimulus } from "../../lib/bench/bench.ts";
import { pinStimulus } from "../../lib/bench/pinStimulus.ts";
import { scaleOf } from "../../lib/bench/scale.ts";
import { expandAll } from "../../lib/judge/expandAll.ts";
import type { MatchedRecord } from "../../lib/match/matched.ts";
import { measureSteps } from "../../lib/measure/steps.ts";
import { binomialCdf } from "../../lib/signal/distributions.ts";
import { type Random, seededRandom } from "../../lib/signal/random.ts";
import { type ConverterFaults, convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { levelTruth } from "../../lib/simulate/levelTruth.ts";

const exact: LevelAccuracy = { gain: 0, offset: 0, linearity: 0, repeatability: 0 };

interface Options {
  readonly bits?: number;
  readonly line?: "endpoint" | "best-fit";
  readonly direction?: StepsStimulus["direction"];
  readonly voltages?: readonly number[];
  readonly readings?: number;
  readonly sigma?: number;
  readonly faults?: ConverterFaults;
  readonly accuracy?: LevelAccuracy;
  /** Readings an exponential transient takes to fall to 1/e. */
  readonly settling?: number;
  /** Added to every level reached from above, LSB. */
  readonly lag?: number;
  readonly column?: boolean;
  readonly random?: Random;
}

/** Steps of a 12-bit, 4.096 V converter (1 mV per LSB), with the truth at the voltages really applied. */
function stepsCapture(options: Options) {
  const {
    bits = 12,
    line = "endpoint",
    direction = "up",
    voltages = Array.from({ length: 17 }, (_, i) => 0.1003 + (3.9 * i) / 16),
    readings = 60,
    sigma = 0.6,
    faults = {},
    accuracy = exact,
    settling = 0,
    lag = 0,
    column = false,
    random = seededRandom(1),
  } = options;
  const converter = {
    bits,
    low: 0,
    high: 4.096,
    firstTransition: 0.5,
    line,
    reference: null,
    averaging: null,
  } as unknown as Converter;
  const scale = scaleOf(converter);
  const T = simulatedTransitions(scale, faults);
  const walk =
    direction === "up"
      ? voltages
      : direction === "down"
        ? [...voltages].reverse()
        : [...voltages, ...[...voltages].reverse().slice(1)];
  const within = (limit: number): number => limit * (2 * random.uniform() - 1);
  const [gain, offset] = [1 + within(accuracy.gain), within(accuracy.offset)];
  const span = Math.max(...voltages) - Math.min(...voltages);
  const bent = new Map(voltages.map((v) => [v, within(accuracy.linearity) * span]));
  const real = walk.map((v) => gain * v + offset + bent.get(v)! + within(accuracy.repeatability));
  const codes = new Int32Array(walk.length * readings);
  const applied = new Float64Array(codes.length);
  let x = real[0]!;
  walk.forEach((v, i) => {
    const target = real[i]! + (i > 0 && walk[i - 1]! > v ? lag * scale.lsb : 0);
    for (let j = 0; j < readings; j++) {
      x = settling > 0 ? target + (x - target) * Math.exp(-1 / settling) : target;
      codes[i * readings + j] = convert(T, x + sigma * scale.lsb * random.normal());
      applied[i * readings + j] = v;
    }
  });
  const stimulus: StepsStimulus = {
    kind: "steps",
    column: column ? "vin" : null,
    levels: column ? null : voltages.map((voltage) => ({ voltage, readings })),
    direction,
    accuracy,
  };
  const spec = { converter, frontEnd: null, stimulus } as unknown as MatchedRecord["spec"];
  const record = {
    spec,
    codes,
    scale,
    stimulus: pinStimulus(spec),
    appliedVolts: column ? applied : null,
    clean: [[0, codes.length - 1]],
    findings: [],
  } as unknown as MatchedRecord;
  const levels = voltages.map((v) => {
    const visits = real.filter((_, i) => walk[i] === v);
    return visits.reduce((s, r) => s + r, 0) / visits.length;
  });
  return { record, scale, T, levels, sigma, line };
}

function scored(options: Options) {
  const capture = stepsCapture(options);
  const { estimates, curves, findings } = measureSteps(capture.record, seededRandom(1));
  const { T, scale, levels, sigma, line } = capture;
  return {
    ...capture,
    estimates,
    curves,
    findings,
    get truth() {
      return levelTruth(T, scale, levels, sigma * scale.lsb, line);
    },
  };
}

describe("measureSteps", () => {
  it("offset and gain come out with the contract's signs: positive when the converter reads high", () => {
    const { estimates } = scored({ faults: { offset: 3, gainPercent: 0.2 }, readings: 400 });
    // Interval half-widths are about 0.1 LSB and 0.003 %: five of them.
    expect(Math.abs(estimates.offsetError!.value! - 3)).toBeLessThan(0.5);
    expect(Math.abs(estimates.gainError!.value! - 0.2)).toBeLessThan(0.015);
  });
  it("INL is positive where transitions sit too high, so that the converter reads low", () => {
    const { estimates, curves } = scored({ faults: { bow: 2 }, readings: 400 });
    // Nearly the whole bow shows at the middle level; the ends are zero by definition.
    expect(estimates.inlMax!.value!).toBeGreaterThan(1.6);
    expect(estimates.inlMax!.value!).toBeLessThan(2.1);
    const points = curves.steps!.points;
    expect(points[0]!.inl).toBeCloseTo(0, 9);
    // Its neighbours are 0.03 LSB lower and may come out above it: the noise of a point is 0.03 LSB too.
    expect(Math.abs(points[8]!.inl! - estimates.inlMax!.value!)).toBeLessThan(0.2);
  });
  it("a column of applied voltages serves as well as a list", () => {
    const faults = { offset: -2, gainPercent: -0.1 };
    const listed = scored({ faults });
    const column = scored({ faults, column: true });
    expect(column.estimates.offsetError!.value).toBeCloseTo(listed.estimates.offsetError!.value!, 9);
    expect(column.estimates.gainError!.value).toBeCloseTo(listed.estimates.gainError!.value!, 9);
  });
  it("transients after a change of level are left out", () => {
    const still = scored({ sigma: 0.5, readings: 80, faults: { bow: 1 } });
    const settling = scored({ sigma: 0.5, readings: 80, faults: { bow: 1 }, settling: 4 });
    for (const p of settling.curves.steps!.points.slice(1)) {
      // A step of 244 LSB falls below the noise after some 22 readings.
      expect(p.settling).toBeGreaterThan(15);
      expect(p.note).toBeNull();
    }
    for (const name of ["offsetError", "gainError", "inlMax"] as const) {
      const truth = still.truth[name];
      expect(settling.estimates[name]!.low!, name).toBeLessThan(truth);
      expect(settling.estimates[name]!.high!, name).toBeGreaterThan(truth);
    }
  });
  it("levels that never settle are left out and found", () => {
    const { estimates, findings, curves } = scored({ settling: 60, readings: 60 });
    expect(findings.map((f) => f.id)).toEqual(["slow-settling"]);
    expect(curves.steps!.points.filter((p) => p.note?.startsWith("not settled")).length).toBeGreaterThan(10);
    expect(estimates.offsetError!.value).toBeNull();
    expect(estimates.offsetError!.reason).toContain("not settled");
  });
  it("levels too short to show their settling one by one show it together", () => {
    const { estimates } = scored({ settling: 3, readings: 4 });
    expect(estimates.offsetError!.value).toBeNull();
    expect(scored({ readings: 4 }).estimates.offsetError!.value).not.toBeNull();
  });
  it("a level that touches a rail is left out of the line", () => {
    const voltages = [0.0002, ...Array.from({ length: 9 }, (_, i) => 0.2 + 0.4 * i), 4.2];
    const { curves, estimates } = scored({ voltages });
    const notes = curves.steps!.points.map((p) => p.note);
    expect(notes[0]).toContain("end of the range");
    expect(notes[notes.length - 1]).toContain("end of the range");
    expect(notes.slice(1, -1).every((n) => n === null)).toBe(true);
    expect(estimates.offsetError!.method).toContain("9 levels");
    expect(estimates.offsetError!.method).toContain("2 visits left out");
  });
  it("both directions show hysteresis, and none where there is none", () => {
    const none = scored({ direction: "both" }).estimates.hysteresis!;
    expect(none.low).toBe(0);
    const some = scored({ direction: "both", lag: 3, readings: 200 }).estimates.hysteresis!;
    expect(some.low!).toBeLessThan(3);
    expect(some.high!).toBeGreaterThan(3);
    expect(some.low!).toBeGreaterThan(2.5);
    expect(scored({}).estimates.hysteresis!.reason).toContain("direction: both");
  });
  it("a list for both directions is walked up and then down, its turning level once or twice", () => {
    const { record } = stepsCapture({ direction: "both" });
    const once = measureSteps(record, seededRandom(1)).curves.steps!.points;
    expect(once).toHaveLength(33);
    expect(once[16]!.applied).toBeCloseTo(4.0003, 9);
    expect(once.slice(17).every((p) => p.direction === "down")).toBe(true);
  });
  it("a level without noise is uncertain by its quantisation, however many readings it has", () => {
    const { estimates } = scored({ sigma: 0.02, readings: 2000 });
    const half = (estimates.offsetError!.high! - estimates.offsetError!.low!) / 2;
    // Two levels of ±½ LSB each, the far one weighing little: about 0.95·½.
    expect(half).toBeGreaterThan(0.4);
    expect(half).toBeLessThan(0.6);
    expect(estimates.offsetError!.shares!.some((s) => s.from.startsWith("quantisation"))).toBe(true);
  });
  it("the source's limits act on offset and gain whole, and not on INL", () => {
    const { estimates } = scored({ accuracy: { gain: 0.001, offset: 0.002, linearity: 0, repeatability: 0 } });
    // 2 mV are 2 LSB at 0 V input; a gain about 0 V moves nothing there.
    expect(estimates.offsetError!.limits.map((l) => [l.from, +l.halfWidth.toFixed(1)])).toEqual([
      ["source gain", 0],
      ["source offset", 2],
    ]);
    expect(estimates.gainError!.limits).toHaveLength(1);
    expect(estimates.gainError!.limits[0]!.halfWidth).toBeCloseTo(0.1, 2);
    expect(estimates.inlMax!.limits).toEqual([]);
  });
  it("what steps cannot show is null with a reason", () => {
    const { estimates } = scored({});
    for (const name of ["dnlMax", "dnlMin", "missingCodes", "offsetAtLow"] as const) {
      expect(estimates[name]!.value).toBeNull();
      expect(estimates[name]!.reason).toContain("a ramp, triangle or sine would");
    }
    const two = scored({ voltages: [1, 3] }).estimates;
    expect(two.offsetError!.value).not.toBeNull();
    expect(two.inlMax!.reason).toContain("at least 3");
    expect(scored({ voltages: [1] }).estimates.offsetError!.reason).toContain("at least 2");
  });
  it("one reading a level claims no more than the scatter between neighbours allows", () => {
    const { estimates, truth } = scored({ readings: 1, sigma: 1, column: true });
    const { low, high } = estimates.offsetError!;
    expect(low!).toBeLessThan(truth.offsetError);
    expect(high!).toBeGreaterThan(truth.offsetError);
    expect(high! - low!).toBeGreaterThan(2);
  });
});

describe("the intervals of a steps capture hold", () => {
  // 150 captures a condition, each of another converter; the source is drawn within its stated limits. A true share of 93 % falls below the bound once in a thousand.
  const trials = 150;
  const conditions: (Options & { name: string })[] = [
    { name: "endpoint, exact source", sigma: 0.5 },
    { name: "best-fit, exact source", sigma: 1, line: "best-fit" },
    { name: "quiet levels", sigma: 0.1 },
    { name: "short levels, 8 bits", sigma: 0.6, readings: 8, bits: 8 },
    {
      name: "source with limits, both directions",
      sigma: 0.7,
      direction: "both",
      line: "best-fit",
      accuracy: { gain: 0.0005, offset: 0.001, linearity: 2e-4, repeatability: 3e-4 },
    },
  ];
  for (const { name, ...condition } of conditions)
    it(name, () => {
      const random = seededRandom(name.length);
      const held: Record<string, number> = {};
      for (let i = 0; i < trials; i++) {
        const faults = {
          offset: 4 * random.uniform() - 2,
          gainPercent: random.uniform() - 0.5,
          bow: 2 * random.uniform() - 1,
          dnlSigma: 0.1,
          seed: i + 1,
        };
        const { estimates, truth } = scored({ readings: 40, ...condition, faults, random });
        const figures = expandAll(estimates, []);
        for (const metric of ["offsetError", "gainError", "inlMax", "inlMin", "totalUnadjustedError"] as const) {
          const { low, high } = figures[metric]!;
          held[metric] = (held[metric] ?? 0) + (low! <= truth[metric] && truth[metric] <= high! ? 1 : 0);
        }
      }
      for (const [metric, count] of Object.entries(held))
        expect(binomialCdf(count, trials, 0.93), `${metric} held in ${count} of ${trials}`).toBeGreaterThan(0.001);
    });
});
