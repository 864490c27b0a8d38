import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import { measureHistogram } from "../../lib/measure/histogram.ts";
import { differentialNonlinearity, integralNonlinearity, staticLine } from "../../lib/measure/staticLine.ts";
import { fitLine } from "../../lib/signal/linearFit.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { ramp, recordOf } from "../measure/simulatedSweep.ts";

/** A noise-free ramp record whose codes come as often as the counts say; the transitions then lie as the counts are wide. */
function rampOf(
  counts: readonly number[],
  bits: number,
  line: "endpoint" | "best-fit" = "endpoint",
  from?: number,
  hit?: number,
) {
  const codes = Int32Array.from(counts.flatMap((count, code) => Array<number>(count).fill(code)));
  const step = hit ?? 2 ** bits / codes.length;
  const start = from ?? step / 2;
  const record = recordOf(codes, bits, ramp(start, start + step * (codes.length - 1)), line);
  const curve = measureHistogram(record, seededRandom(1)).curves.transitions!;
  expect(curve.first).toBe(1);
  return curve;
}

function near(got: ArrayLike<number>, wanted: readonly number[], within = 1e-4): void {
  wanted.forEach((w, i) => {
    expect(Math.abs(got[i]! - w), `element ${i}: ${got[i]} against ${w}`).toBeLessThan(within);
  });
}

const worst = (values: ArrayLike<number>): number =>
  Math.max(...Array.from(values, (v) => (Number.isNaN(v) ? 0 : Math.abs(v))));

// Printed to four decimals: half a unit of the last digit, and 1e-4 at most (CHECKS 8).
describe("8A: ramp histogram, 4 bits (Roberts, Taenzler and Burns, 2nd ed. 2012, Exercise 7.13; values recomputed)", () => {
  const counts = [4, 5, 5, 7, 8, 7, 9, 5, 6, 3, 6, 7, 9, 6, 5, 9];
  it("DNL of codes 1 to 14, end bins left out of the average width", () =>
    near(
      rampOf(counts, 4).dnl,
      [
        -0.2045, -0.2045, 0.1136, 0.2727, 0.1136, 0.4318, -0.2045, -0.0455, -0.5227, -0.0455, 0.1136, 0.4318, -0.0455,
        -0.2045,
      ],
    ));
  it("end-point INL of T1 to T15", () =>
    near(
      rampOf(counts, 4).inl,
      [0, -0.2045, -0.4091, -0.2955, -0.0227, 0.0909, 0.5227, 0.3182, 0.2727, -0.25, -0.2955, -0.1818, 0.25, 0.2045, 0],
    ));
  it("best-fit INL of the contract's regression, ideal on T: largest 0.5318, not 0.5386 (T on k) or 0.5302 (divided by the slope)", () =>
    expect(worst(rampOf(counts, 4, "best-fit").inl)).toBeCloseTo(0.5318, 4));
});

describe("8B: ramp histogram, 3 bits, in volts (same book, Problem 7.9; values recomputed)", () => {
  const hit = (3.125 - 0.032) / 32;
  // T1 lies half-way between the sixth reading and the seventh.
  const curve = rampOf([6, 6, 5, 6, 4, 6, 5, 6], 3, "endpoint", 0.032 - 5.5 * hit, hit);
  it("edges at 32 mV and 3.125 V, a hit every 96.656 mV", () => {
    expect(curve.volts[0]).toBeCloseTo(0.032, 5);
    expect(curve.volts[6]).toBeCloseTo(3.125, 5);
    expect(hit).toBeCloseTo(0.096656, 6);
    expect((curve.volts[6]! - curve.volts[0]!) / 6).toBeCloseTo(0.5155, 5);
  });
  it("DNL and end-point INL", () => {
    near(curve.dnl, [0.125, -0.0625, 0.125, -0.25, 0.125, -0.0625]);
    near(curve.inl, [0, 0.125, 0.0625, 0.1875, -0.0625, 0.0625, 0]);
  });
});

describe("8C: ramp histogram of a two's-complement converter, code −8 first (same book; values recomputed)", () => {
  const counts = [20, 15, 14, 12, 11, 12, 12, 14, 14, 13, 15, 16, 16, 14, 20, 23];
  it("DNL of codes −7 to 6", () =>
    near(
      rampOf(counts, 4).dnl,
      [
        0.0606, -0.0101, -0.1515, -0.2222, -0.1515, -0.1515, -0.0101, -0.0101, -0.0808, 0.0606, 0.1313, 0.1313, -0.0101,
        0.4141,
      ],
    ));
  it("largest end-point INL 0.7273", () => expect(worst(rampOf(counts, 4).inl)).toBeCloseTo(0.7273, 4));
  it("largest best-fit INL 0.5733 by T on k; the contract regresses ideal on T", () => {
    // Transitions in average widths, straight from the counts: Σ inner counts / 14.142857.
    const T = [0];
    for (const c of counts.slice(1, 15)) T.push(T.at(-1)! + c / (198 / 14));
    const k = T.map((_, i) => i);
    const onK = fitLine(k, T);
    expect(worst(T.map((t, i) => t - onK.intercept - onK.slope * i))).toBeCloseTo(0.5733, 4);
    const onT = fitLine(T, k);
    const wanted = worst(T.map((t, i) => onT.intercept + onT.slope * t - i));
    expect(worst(rampOf(counts, 4, "best-fit").inl)).toBeCloseTo(wanted, 6);
  });
});

describe("8D: ramp histogram, 4 bits (Texas A&M ECEN 610 laboratory, 2025, read in public submissions; values recomputed)", () => {
  const counts = [43, 115, 85, 101, 122, 170, 75, 146, 125, 60, 95, 95, 115, 40, 120, 242];
  const curve = rampOf(counts, 4);
  it("DNL of codes 1 to 14", () =>
    near(
      curve.dnl,
      [
        0.0997, -0.1872, -0.0342, 0.1667, 0.6257, -0.2828, 0.3962, 0.1954, -0.4262, -0.0915, -0.0915, 0.0997, -0.6175,
        0.1475,
      ],
    ));
  it("end-point INL of T1 to T15, largest 0.9795", () =>
    near(
      curve.inl,
      [0, 0.0997, -0.0874, -0.1216, 0.0451, 0.6708, 0.388, 0.7842, 0.9795, 0.5533, 0.4617, 0.3702, 0.4699, -0.1475, 0],
    ));
  it("no missing code", () => expect(curve.missing).toEqual([]));
  it("is not what keeping the end bins in the average width gives (DNL 1.2138, INL 1.3116)", () => {
    // The wrong way, so that the test knows what to refuse: width over all 16 bins, 109.3125 readings.
    const wrong = Math.max(...counts.map((c) => c / 109.3125 - 1));
    expect(wrong).toBeCloseTo(1.2138, 4);
    expect(worst(curve.dnl)).toBeCloseTo(0.6257, 4);
    expect(Math.abs(worst(curve.dnl) - wrong)).toBeGreaterThan(0.5);
    expect(Math.abs(worst(curve.inl) - 1.3116)).toBeGreaterThan(0.3);
  });
});

/** Levels given as a list: element i is compared with (first + i) whole LSB. */
const listScale = (lsb: number, bits: number, first = 0) => ({
  ...scaleOf({ bits, low: 0, high: lsb * 2 ** bits, firstTransition: 0.5 }),
  firstTransition: first,
});
const IDEAL_LINE = { gain: 1, offset: 0 };

describe("8E: Franco, Design with Operational Amplifiers and Analog Integrated Circuits, Example 12.1 (published answers)", () => {
  const levels = Float64Array.of(0, 1 / 8, 3 / 16, 7 / 16, 3 / 8, 11 / 16, 11 / 16, 7 / 8);
  it("INL and DNL against the ideal line; largest 1 LSB and 3/2 LSB", () => {
    const inl = integralNonlinearity(levels, listScale(1 / 8, 3), 1, IDEAL_LINE);
    const dnl = differentialNonlinearity(levels, 1 / 8, IDEAL_LINE);
    near(inl, [0, 0, -0.5, 0.5, -1, 0.5, -0.5, 0], 1e-12);
    near(dnl, [0, -0.5, 1, -1.5, 1.5, -1, 0.5], 1e-12);
    expect([worst(inl), worst(dnl)]).toEqual([1, 1.5]);
  });
});

describe("8F, 8G: lists in the style of Johns and Martin, Analog Integrated Circuit Design (8G from memory; values recomputed)", () => {
  it("8F, 2 bits: end-point INL and DNL, gain and offset in the contract's sense", () => {
    const levels = Float64Array.of(0.01, 1.02, 1.97, 3.02);
    const line = staticLine(levels, listScale(1, 2), 1, "endpoint");
    // The list's LSB is the ideal one; the contract's figures are multiplied by G, so that it is taken off again.
    const inl = integralNonlinearity(levels, listScale(1, 2), 1, line).map((x) => x / line.gain);
    near(inl, [0, 0.0067, -0.0467, 0]);
    near(
      differentialNonlinearity(levels, 1, line).map((x) => x / line.gain),
      [0.0067, -0.0533, 0.0467],
    );
    // Offset +0.01 and gain +0.01 LSB of the list: a transition that lies high reads low, so both signs turn.
    expect(line.offset).toBeCloseTo(-0.01, 3);
    expect(line.gain).toBeCloseTo(3 / 3.01, 12);
  });
  it("8F, least squares of the list on code: slope 0.998 V, offset 0.008 V", () => {
    const line = fitLine([0, 1, 2, 3], [0.01, 1.02, 1.97, 3.02]);
    expect(line.slope).toBeCloseTo(0.998, 9);
    expect(line.intercept).toBeCloseTo(0.008, 9);
  });
  it("8G, 3 bits: end-point INL and DNL", () => {
    const levels = Float64Array.of(0.011, 0.507, 1.002, 1.501, 1.996, 2.495, 2.996, 3.491);
    const line = staticLine(levels, listScale(0.5, 3), 1, "endpoint");
    near(
      integralNonlinearity(levels, listScale(0.5, 3), 1, line),
      [0, -0.0023, -0.0066, -0.0029, -0.0071, -0.0034, 0.0043, 0],
    );
    near(differentialNonlinearity(levels, 0.5, line), [-0.0023, -0.0043, 0.0037, -0.0043, 0.0037, 0.0077, -0.0043]);
  });
});

describe("8H: linear fit of 16 levels (Roberts et al., converter problem, ideal 0.4 V a code; values recomputed)", () => {
  const levels = Float64Array.of(
    0.0465,
    0.3255,
    0.7166,
    1.0422,
    1.5298,
    1.8236,
    2.1693,
    2.5637,
    2.8727,
    3.3443,
    3.6416,
    4.048,
    4.3929,
    4.7059,
    5.0968,
    5.505,
  );
  const scale = listScale(0.4, 4);
  it("best-fit gain is the regression of ideal on measured: r²/slope of the published regression on code, 0.365433 V", () => {
    const onCode = fitLine(
      levels.map((_, i) => i),
      levels,
    );
    expect(onCode.slope).toBeCloseTo(0.365433, 6);
    expect(1000 * onCode.intercept).toBeCloseTo(-1.7221, 4);
    const line = staticLine(levels, scale, 1, "best-fit");
    expect(line.gain).toBeCloseTo((0.4 * onCode.rSquared) / onCode.slope, 10);
  });
  it("end-point LSB 0.363900 V", () =>
    expect(0.4 / staticLine(levels, scale, 1, "endpoint").gain).toBeCloseTo(0.3639, 6));
  it("best-fit INL follows the published one (fit LSB, three decimals)", () => {
    const published = [
      0.132, -0.105, -0.034, -0.143, 0.191, -0.005, -0.059, 0.02, -0.134, 0.156, -0.03, 0.082, 0.026, -0.118, -0.048,
      0.069,
    ];
    const inl = integralNonlinearity(levels, scale, 1, staticLine(levels, scale, 1, "best-fit"));
    // The two regressions differ by 1 − r² = 5e-4 over a lever of 7.5 codes; printed to half a thousandth.
    near(inl, published, 0.0045);
  });
});

describe("8I: widths given as DNL (public coursework): a code of DNL −1 is missing", () => {
  const dnl = [0, -0.5, 0, 0.5, -1, 0.5, 0.5, 0];
  it("running sum after each code", () => {
    const edges = [0];
    for (const d of dnl) edges.push(edges.at(-1)! + 1 + d);
    near(
      integralNonlinearity(Float64Array.from(edges.slice(1)), listScale(1, 3, 1), 1, IDEAL_LINE),
      [0, -0.5, -0.5, 0, -1, -0.5, 0, 0],
      1e-12,
    );
  });
  it("a ramp that passes slowly finds code 4 missing and no other", () => {
    // 400 readings an LSB: a code of 0.1 LSB would have been seen 40 times.
    const curve = rampOf(
      dnl.map((d) => 400 * (1 + d)),
      3,
    );
    expect(curve.missing).toEqual([4]);
    expect(curve.possiblyMissing).toEqual([]);
  });
});
