import { describe, expect, it } from "vitest";
import { settledPart, tailScatter } from "../../lib/measure/stepsSettling.ts";
import { seededRandom } from "../../lib/signal/random.ts";

function visit(readings: number, from: number, to: number, tau: number, sigma: number, seed = 1): Int32Array {
  const random = seededRandom(seed);
  return Int32Array.from({ length: readings }, (_, n) =>
    Math.round(to + (tau > 0 ? (from - to) * Math.exp(-n / tau) : 0) + sigma * random.normal()),
  );
}
const settle = (codes: Int32Array) =>
  settledPart(codes, 0, codes.length - 1, tailScatter(codes, [[0, codes.length - 1]]));

describe("settledPart", () => {
  it("leaves out only the first reading of a level that stands at once", () => {
    for (let seed = 1; seed <= 20; seed++) {
      const part = settle(visit(200, 0, 500, 0, 0.8, seed));
      expect(part).toMatchObject({ last: 199, isSettled: true });
      // One false start in a hundred visits costs a few readings.
      expect(part.settling).toBeLessThanOrEqual(10);
    }
  });
  it("leaves out a transient so far that its rest is below the noise of the mean", () => {
    for (const tau of [3, 10, 20]) {
      const part = settle(visit(400, 0, 500, tau, 0.8));
      expect(part.isSettled).toBe(true);
      // What is left of the transient, averaged over the readings used, against 0.8/√readings.
      const left = (500 * Math.exp(-part.settling / tau) * tau) / (400 - part.settling);
      expect(left, `tau ${tau}`).toBeLessThan(0.5 * (0.8 / Math.sqrt(400 - part.settling)));
    }
  });
  it("says when a level is still moving at its end", () => {
    expect(settle(visit(100, 0, 500, 60, 0.5)).isSettled).toBe(false);
    expect(settle(visit(100, 0, 40, 100, 0.5)).isSettled).toBe(false);
  });
  it("works without any noise", () => {
    expect(settle(visit(100, 0, 500, 0, 0))).toEqual({ first: 1, last: 99, settling: 1, isSettled: true });
    expect(settle(visit(100, 0, 500, 4, 0)).isSettled).toBe(true);
  });
  it("drops readings of the next level that came early", () => {
    const codes = visit(60, 0, 500, 0, 0.5);
    codes.fill(800, 57);
    expect(settle(codes).last).toBe(56);
  });
  it("takes what there is of a few readings", () => {
    expect(settledPart(Int32Array.of(5), 0, 0, { variance: 0, dof: 0, inflation: 1 })).toEqual({
      first: 0,
      last: 0,
      settling: 0,
      isSettled: true,
    });
    expect(settledPart(Int32Array.of(4, 5, 5), 0, 2, { variance: 0, dof: 0, inflation: 1 })).toMatchObject({
      first: 1,
      settling: 1,
    });
  });
});
