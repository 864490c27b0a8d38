import { describe, expect, it } from "vitest";
import { type HarmonicLine, harmonicPlaces } from "../../lib/measure/toneHarmonics.ts";
import { toneLeakage } from "../../lib/measure/toneLeakage.ts";

/** Lines for the kept orders, each of the power given for its order. */
function leakageAt(f: number, M: number, powerOf: (order: number) => number) {
  const places = harmonicPlaces(f, M);
  const lines = places
    .filter((p) => p.state === "kept")
    .map((p): HarmonicLine => ({ order: p.order, frequency: p.frequency, a: 0, b: 0, spread: 4 / M, atHalf: false }));
  return { lines, ...toneLeakage(f, M, places, lines, (l) => powerOf(l.order)) };
}

describe("toneLeakage", () => {
  it("a converter with a smooth error has nothing that leaks", () => {
    const { intoTone, intoLines, shared, hidden } = leakageAt(0.2222, 60, (h) => (h <= 3 ? 1 : 0));
    expect([intoTone, shared, hidden, ...intoLines]).toEqual([0, 0, 0, ...intoLines.map(() => 0)]);
  });
  it("coherent and dense: orders above 10 fall on cells of their own", () => {
    // 1009 is prime: of orders up to 40 none folds onto the tone or a lower harmonic.
    const { intoTone, intoLines } = leakageAt(251 / 1009, 1009, () => 1);
    expect(intoTone).toBeLessThan(1e-20);
    expect(Math.max(...intoLines)).toBeLessThan(1e-20);
  });
  it("at a ninth of turns, orders 8 and 10 lie in the tone", () => {
    // f = 2/9 exactly: 8f = 16/9 and 10f = 20/9 both fold to 2/9, each with the typical power (10 falls off by (8/10)²); orders 17, 19, 26, 28, 35, 37 add (8/h)².
    const { intoTone } = leakageAt(2 / 9, 45, () => 1);
    const wanted = 1 + (8 / 10) ** 2 + [17, 19, 26, 28, 35, 37].reduce((s, h) => s + (8 / h) ** 2, 0);
    expect(intoTone).toBeCloseTo(wanted, 9);
  });
});
