import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { difference, recordStandard } from "../../lib/compare/difference.ts";
import { worsening } from "../../lib/compare/worsening.ts";
import { halfWidth } from "../../lib/judge/coverage.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { figure } from "./builtResult.ts";

const source = { source: true, board: false };

describe("difference", () => {
  it("combines two records' uncertainties by root sum of squares", () => {
    // JCGM 100:2008, 5.1.2: 0.03 and 0.04 make 0.05.
    const d = difference(figure("enob", 10, 0.03), figure("enob", 10.1, 0.04));
    expect(d.value).toBeCloseTo(0.1, 12);
    expect(d.uncertainty).toBeCloseTo(0.05, 9);
    expect(d.low).toBeCloseTo(0.05, 9);
  });

  it("keeps the sides of asymmetric intervals apart", () => {
    const a = figure("thd", -70, null, { low: -70.6, high: -69.7, uncertainty: 0.45 });
    const b = figure("thd", -68, null, { low: -68.4, high: -67.2, uncertainty: 0.6 });
    const d = difference(a, b);
    // Lower end: the second's lower side 0.4 and the first's upper side 0.3; upper end: 0.8 and 0.6.
    expect(d.low).toBeCloseTo(2 - 0.5, 9);
    expect(d.high).toBeCloseTo(2 + 1.0, 9);
  });

  it("convolves independent limits: two rectangles make a triangle", () => {
    // Sum of two rectangles ±1: a triangle on ±2, whose central 95 % end at 2 − 2·√0.05 = 1.552786 (closed form).
    const one = figure("offsetError", 3, 0.95, { limits: { "source offset": 1 } });
    const d = difference(one, { ...one, value: 4, low: 3.05, high: 4.95 });
    // 5e-4: a record's part of up to some 0.02 leaves a rectangle's 0.95 unchanged, so that the inversion cannot know it is 0.
    expect(d.uncertainty).toBeCloseTo(2 - 2 * Math.sqrt(0.05), 3);
  });

  it("lets a shared source's limit cancel, all of it or what differs of it", () => {
    const limits = { "source offset": 1 };
    const side = halfWidth(0.1, [1]);
    const a = figure("offsetError", 3, side, { limits });
    const b = figure("offsetError", 4, side, { limits });
    // Only the records' parts are left: 1.96·√2·0.1.
    expect(difference(a, b, { shared: source }).uncertainty).toBeCloseTo(1.959964 * Math.SQRT2 * 0.1, 6);
    const c = figure("offsetError", 4, halfWidth(0.1, [1.5]), { limits: { "source offset": 1.5 } });
    expect(difference(a, c, { shared: source }).uncertainty).toBeCloseTo(halfWidth(Math.SQRT2 * 0.1, [0.5]), 4);
  });

  it("never lets linearity, or a limit of the board, cancel with the source", () => {
    for (const from of ["source linearity", "reference", "front-end gain", "timing"]) {
      const a = figure("inlMax", 1, 0.95, { limits: { [from]: 1 } });
      // 5e-4: see above.
      expect(difference(a, a, { shared: source }).uncertainty).toBeCloseTo(2 - 2 * Math.sqrt(0.05), 3);
    }
    const board = figure("gainError", 1, 0.95, { limits: { reference: 1 } });
    expect(difference(board, board, { shared: { source: false, board: true } }).uncertainty).toBe(0);
  });

  it("believes the budget's record part beside a dominating limit, where it fits the interval", () => {
    // 0.002 beside ±1 cannot be had back from the width; without the limit it is all there is.
    const small = figure("offsetError", 3, halfWidth(0.001, [1]), { limits: { "source offset": 1 }, record: 0.00196 });
    expect(difference(small, small, { shared: source }).uncertainty).toBeCloseTo(0.00196 * Math.SQRT2, 6);
    // A budget that does not explain the interval is not believed.
    const wide = figure("offsetError", 3, halfWidth(0.5, [1]), { limits: { "source offset": 1 }, record: 0.00196 });
    expect(difference(wide, wide, { shared: source }).uncertainty).toBeCloseTo(1.959964 * 0.5 * Math.SQRT2, 3);
  });

  it("bounds a difference where one side is only a bound", () => {
    const bound = figure("thd", null, null, { high: -90 });
    const d = difference(figure("thd", -70, 0.5), bound);
    expect(d).toEqual({ value: null, low: null, high: -90 - -70.5, uncertainty: null });
  });

  it("has no interval where a figure has none", () => {
    const d = difference(figure("noisePeakToPeak", 5, null), figure("noisePeakToPeak", 6, null));
    expect(d).toEqual({ value: 1, low: null, high: null, uncertainty: null });
  });

  it("covers the true difference in 93 to 97 of 100 cases: normal records, a rectangular source limit each", () => {
    // 4000 draws: the share's own standard deviation is 0.0034, so that 0.93…0.97 is six of them wide.
    const random = seededRandom(7);
    const limit = 0.8;
    let inside = 0;
    const draws = 4000;
    const halves = [halfWidth(0.3, [limit]), halfWidth(0.5, [limit])];
    const d0 = difference(
      figure("offsetError", 0, halves[0]!, { limits: { "source offset": limit } }),
      figure("offsetError", 0, halves[1]!, { limits: { "source offset": limit } }),
    );
    for (let i = 0; i < draws; i++) {
      const errors = [0.3, 0.5].map((u) => u * random.normal() + limit * (2 * random.uniform() - 1));
      if (Math.abs(errors[1]! - errors[0]!) <= d0.uncertainty!) inside++;
    }
    expect(inside / draws).toBeGreaterThan(0.93);
    expect(inside / draws).toBeLessThan(0.97);
  });
});

describe("recordStandard", () => {
  it("inverts the convolution with limits", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 10, noNaN: true }),
        fc.array(fc.double({ min: 0.01, max: 10, noNaN: true }), { maxLength: 3 }),
        (standard, limits) => {
          const back = recordStandard(halfWidth(standard, limits), limits);
          // Where limits dominate, the width hardly depends on the standard part: compare widths, not standards. 1e-4: halfWidth's own error.
          const scale = Math.max(standard, ...limits);
          return Math.abs(halfWidth(back, limits) - halfWidth(standard, limits)) < 1e-4 * scale;
        },
      ),
      { numRuns: 60 },
    );
  });
  it("is 0 where the limits alone are as wide", () => expect(recordStandard(0.9, [1])).toBe(0));
});

describe("worsening", () => {
  it("is positive when it gets worse, whichever way the metric counts", () => {
    expect(worsening("enob", figure("enob", 10, 0.1), figure("enob", 9, 0.1))!.value).toBeCloseTo(1, 12);
    expect(worsening("thd", figure("thd", -70, 1), figure("thd", -60, 1))!.value).toBeCloseTo(10, 12);
    expect(worsening("inlMin", figure("inlMin", -1, 0.1), figure("inlMin", -2, 0.1))!.value).toBeCloseTo(1, 12);
    expect(worsening("offsetError", figure("offsetError", -3, 0.1), figure("offsetError", 1, 0.1))!.value).toBeCloseTo(
      -2,
      12,
    );
    expect(worsening("meanCode", figure("meanCode", 1, 0.1), figure("meanCode", 2, 0.1))).toBeNull();
  });

  it("swaps the sides where lower is worse", () => {
    const a = figure("enob", 10, null, { low: 9.7, high: 10.4, uncertainty: 0.35 });
    const b = figure("enob", 9, null, { low: 8.2, high: 9.3, uncertainty: 0.55 });
    const w = worsening("enob", a, b)!;
    // The least worsening: the second at its upper, the first at its lower end.
    expect(w.low).toBeCloseTo(1 - Math.hypot(0.3, 0.3), 9);
    expect(w.high).toBeCloseTo(1 + Math.hypot(0.8, 0.4), 9);
  });

  it("adds a shared limit up where magnitudes of opposite sign are compared", () => {
    const limits = { "source offset": 1 };
    const a = figure("offsetError", 5, 0.95, { limits });
    const b = figure("offsetError", -5, 0.95, { limits });
    // One and the same error e makes |5 + e| and |−5 + e|: their difference moves by 2e, a rectangle ±2.
    expect(worsening("offsetError", a, b, { shared: source })!.uncertainty).toBeCloseTo(0.95 * 2, 6);
  });

  it("begins a magnitude's interval at 0 where the sign is not settled", () => {
    const w = worsening("gainError", figure("gainError", 0.1, 0.3), figure("gainError", 0.1, 0.3))!;
    // |x| lies in 0…0.4: lower side 0.1, upper side 0.3.
    expect(w.low).toBeCloseTo(-Math.hypot(0.1, 0.3), 9);
    expect(w.high).toBeCloseTo(Math.hypot(0.3, 0.1), 9);
  });
});
