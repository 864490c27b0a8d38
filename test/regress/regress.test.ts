import { describe, expect, it } from "vitest";
import { INDEPENDENT } from "../../lib/compare/difference.ts";
import { regress } from "../../lib/regress/regress.ts";
import type { ResultFigure } from "../../lib/result.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { capture, converter, figure, result } from "../compare/builtResult.ts";

const tone = (metrics: Record<string, ResultFigure>, allow: Record<string, number> = {}) =>
  result([capture("tone", { metrics })], { allow });
const options = { shared: INDEPENDENT, allow: {} };
const one = (before: ResultFigure, after: ResultFigure, allow: Record<string, number> = {}) =>
  regress(tone({ enob: before }), tone({ enob: after }, allow), options);

describe("regress, one metric", () => {
  // Joint uncertainty of ±0.03 and ±0.04: ±0.05.
  it.each([
    ["unchanged", 10.0, {}, "not worse", "not worse"],
    ["worse within the uncertainty", 9.96, {}, "not worse", "not worse"],
    ["worse by more", 9.94, {}, "worse", "worse"],
    ["better", 10.2, {}, "not worse", "not worse"],
    ["worse, wholly inside what is allowed", 9.9, { enob: 0.2 }, "not worse", "not worse"],
    ["worse, and more than is allowed", 9.7, { enob: 0.2 }, "worse", "worse"],
    ["worse, but whether more than is allowed is open", 9.8, { enob: 0.2 }, "undecided", "undecided"],
    [
      "unchanged within the uncertainty, which is wider than what is allowed",
      9.97,
      { enob: 0.01 },
      "not worse",
      "not worse",
    ],
  ] as const)("%s", (_name, value, allow, decision, whole) => {
    const r = one(figure("enob", 10, 0.03), figure("enob", value, 0.04), allow);
    expect(r.cases[0]!.decision).toBe(decision);
    expect(r.decision).toBe(whole);
  });

  it("says which gates are blind", () => {
    expect(one(figure("enob", 10, 0.03), figure("enob", 10, 0.04), { enob: 0.01 }).cases[0]!.blind).toBe(true);
    expect(one(figure("enob", 10, 0.03), figure("enob", 10, 0.04), { enob: 0.1 }).cases[0]!.blind).toBe(false);
  });

  it("fails a metric that vanished, with the reason", () => {
    const r = one(figure("enob", 10, 0.03), figure("enob", null, null, { reason: "stimulus clips" }));
    expect(r.cases[0]).toMatchObject({ decision: "vanished" });
    expect(r.cases[0]!.reason).toContain("stimulus clips");
    expect(r.decision).toBe("worse");
  });

  it("takes a bound for what it proves", () => {
    const r = (high: number) =>
      regress(tone({ thd: figure("thd", -80, 1) }), tone({ thd: figure("thd", null, null, { high }) }), options)
        .cases[0]!.decision;
    expect(r(-85)).toBe("not worse");
    expect(r(-75)).toBe("undecided");
  });

  it("lets a metric that the baseline had not be new", () => {
    const r = regress(tone({}), tone({ enob: figure("enob", 9, 0.1) }), options);
    expect(r.cases[0]!.decision).toBe("new");
    expect(r.decision).toBe("not worse");
  });

  it("decides by the values where there is no interval, only as far as they go", () => {
    const r = (after: number, allow = {}) =>
      regress(
        tone({ crosstalk: figure("crosstalk", -80, null) }),
        tone({ crosstalk: figure("crosstalk", after, null) }, allow),
        options,
      ).cases[0]!.decision;
    expect(r(-80)).toBe("not worse");
    expect(r(-79)).toBe("undecided");
    expect(r(-79, { crosstalk: 2 })).toBe("not worse");
    expect(r(-77, { crosstalk: 2 })).toBe("worse");
  });

  it("judges the extremes of a record only where an allowance makes them a gate", () => {
    // A record's peak to peak is exact for that record, ±0, and no two records' are alike.
    const r = (allow: Record<string, number>) =>
      regress(
        tone({ noisePeakToPeak: figure("noisePeakToPeak", 4, 0) }),
        tone({ noisePeakToPeak: figure("noisePeakToPeak", 6, 0) }, allow),
        options,
      );
    expect(r({}).cases).toEqual([]);
    expect(r({ noisePeakToPeak: 1 }).cases[0]!.decision).toBe("worse");
    expect(r({ noisePeakToPeak: 3 }).cases[0]!.decision).toBe("not worse");
  });
});

describe("regress, a session", () => {
  it("fails every metric of a capture that is gone", () => {
    const before = result([
      capture("tone", { metrics: { enob: figure("enob", 10, 0.1), meanCode: figure("meanCode", 5, 1) } }),
    ]);
    const r = regress(before, result([capture("noise", { stimulus: { kind: "steady" } })]), options);
    expect(r.cases.map((c) => [c.metric, c.decision])).toEqual([["enob", "vanished"]]);
    expect(r.remarks.join(" ")).toContain("noise is new");
  });

  it("compares in volts where the resolutions differ, the allowance with it", () => {
    const at = (bits: number, noise: number) =>
      result(
        [
          capture("noise", {
            stimulus: { kind: "steady" },
            converter: converter({ bits }),
            metrics: { noiseRms: figure("noiseRms", noise, 0.01) },
          }),
        ],
        { allow: { noiseRms: 0.1 } },
      );
    // 0.5 LSB of 4 mV = 2 mV, then 2.2 LSB of 1 mV = 2.2 mV: worse by 0.2 ± 0.041 mV; allowed 0.1 LSB of the baseline = 0.4 mV.
    const r = regress(at(10, 0.5), at(12, 2.2), options);
    expect(r.cases[0]).toMatchObject({ unit: "V", decision: "not worse" });
    expect(r.cases[0]!.allowed).toBeCloseTo(0.4e-3, 12);
  });

  it("does not let one of many metrics fail a revision by chance", () => {
    // Twenty metrics, nothing changed, 1500 revisions: by each one's own 95 % interval 1 − 0.975^20 = 40 % would fail. Taken together at most
    // 2.5 % may (one side of 5 %), 0.4 % standard deviation at this number: 4 % is more than three of these.
    const random = seededRandom(11);
    const names = [
      "offsetError",
      "gainError",
      "inlMax",
      "dnlMax",
      "missingCodes",
      "totalUnadjustedError",
      "hysteresis",
      "enob",
      "sinad",
      "snr",
    ] as const;
    const draw = () => {
      const metrics = Object.fromEntries(names.map((n) => [n, figure(n, 10 + 0.1 * random.normal(), 0.1 * 1.959964)]));
      return result([
        capture("one", { metrics }),
        capture("two", {
          metrics: Object.fromEntries(names.map((n) => [n, figure(n, 10 + 0.1 * random.normal(), 0.1 * 1.959964)])),
        }),
      ]);
    };
    const runs = 1500;
    let failed = 0;
    let notClean = 0;
    for (let i = 0; i < runs; i++) {
      const r = regress(draw(), draw(), options);
      expect(r.judged).toBe(20);
      if (r.decision === "worse") failed++;
      if (r.decision !== "not worse") notClean++;
    }
    expect(failed / runs).toBeLessThan(0.04);
    // The rest of the 40 % is undecided, not failed: 1.3 % standard deviation, so four of these.
    expect(notClean / runs).toBeGreaterThan(0.35);
    expect(notClean / runs).toBeLessThan(0.45);
  });

  it("finds a worsening of twice the joint uncertainty among twenty", () => {
    const metrics = (enob: number) => ({
      enob: figure("enob", enob, 0.1),
      ...Object.fromEntries(["snr", "sinad", "thd", "sfdr"].map((n) => [n, figure(n as "snr", 60, 1)])),
    });
    expect(regress(tone(metrics(10)), tone(metrics(10 - 2 * Math.hypot(0.1, 0.1))), options).decision).toBe("worse");
  });

  it("takes the command line's allowance first, then the smaller of both bench files'", () => {
    const before = tone({ enob: figure("enob", 10, 0.01) }, { enob: 0.5 });
    const after = tone({ enob: figure("enob", 9.8, 0.01) }, { enob: 0.1 });
    expect(regress(before, after, options).cases[0]).toMatchObject({ allowed: 0.1, decision: "worse" });
    expect(regress(before, after, { ...options, allow: { enob: 0.3 } }).cases[0]).toMatchObject({
      allowed: 0.3,
      decision: "not worse",
    });
  });

  it("applies inl to both of its ends", () => {
    const r = regress(
      tone({ inlMin: figure("inlMin", -1, 0.05), inlMax: figure("inlMax", 1, 0.05) }),
      tone({ inlMin: figure("inlMin", -1.5, 0.05), inlMax: figure("inlMax", 1.5, 0.05) }, { inl: 1 }),
      options,
    );
    expect(r.cases.map((c) => [c.allowed, c.decision])).toEqual([
      [1, "not worse"],
      [1, "not worse"],
    ]);
  });
});
