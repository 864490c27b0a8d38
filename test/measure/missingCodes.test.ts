import { describe, expect, it } from "vitest";
import { missingCodes } from "../../lib/measure/missingCodes.ts";
import type { Transitions } from "../../lib/measure/transitions.ts";

/** Codes of the given widths, read `density` times an LSB with noise sigma. */
function swept(widths: readonly number[], density: number, sigma: number): { tr: Transitions; counts: Float64Array } {
  let x = 0.5;
  const inputs = Float64Array.from([x, ...widths.map((w) => (x += w))]);
  const count = inputs.length;
  return {
    tr: {
      first: 1,
      step: 1,
      inputs,
      noise: new Float64Array(count).fill(Math.sqrt(sigma / density / Math.sqrt(Math.PI))),
      gap: new Float64Array(count),
      density: new Float64Array(count).fill(density),
      sigma,
      readings: density * count,
    },
    counts: Float64Array.from([0, ...widths.map((w) => Math.round(w * density)), 0]),
  };
}

describe("missingCodes", () => {
  const widths = [1, 1, 0, 2, 1, 1];
  it("calls a code missing when one of 0.1 LSB would have been seen many times", () => {
    const { tr, counts } = swept(widths, 200, 1);
    expect(missingCodes(tr, counts, 1)).toEqual({ missing: [3], possiblyMissing: [] });
  });
  it("only suspects it when 0.1 LSB would have been read once or twice: Poisson gives none in one case of seven", () => {
    const { tr, counts } = swept(widths, 20, 1);
    expect(missingCodes(tr, counts, 1)).toEqual({ missing: [], possiblyMissing: [3] });
  });
  it("the count needed at 2.5 %: none of 3.69 expected (Garwood 1936)", () => {
    const at = (density: number) => {
      const { tr, counts } = swept(widths, density, 5);
      return missingCodes(tr, counts, 1).missing;
    };
    expect(at(36)).toEqual([]);
    expect(at(38)).toEqual([3]);
  });
  it("does not suspect a code of half an LSB that is well known", () => {
    const { tr, counts } = swept([1, 0.5, 1, 1], 200, 0.3);
    expect(missingCodes(tr, counts, 1)).toEqual({ missing: [], possiblyMissing: [] });
  });
  it("does not call what lies in a gap between readings", () => {
    const { tr, counts } = swept(widths, 10, 0);
    expect(missingCodes({ ...tr, gap: tr.gap.map(() => 0.5) }, counts, 1).missing).toEqual([]);
  });
});
