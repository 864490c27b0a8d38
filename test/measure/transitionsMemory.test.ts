import { describe, expect, it } from "vitest";
import type { Transitions } from "../../lib/measure/transitions.ts";
import { sweepMemory } from "../../lib/measure/transitionsMemory.ts";
import { seededRandom } from "../../lib/signal/random.ts";

const SIGMA = 0.5;
const PER_CODE = 100;
const CODES = 200;

/** An ideal converter's ramp, T[k] = k, with noise correlated by rho from reading to reading. */
function ramp(rho: number, falls = false) {
  const random = seededRandom(4);
  const readings = PER_CODE * CODES;
  let e = random.normal();
  const inputAt = (n: number): number => (falls ? readings - 1 - n : n) / PER_CODE;
  const codes = Int32Array.from({ length: readings }, (_, n) => {
    e = rho * e + Math.sqrt(1 - rho * rho) * random.normal();
    return Math.min(CODES, Math.max(0, Math.floor(inputAt(n) + SIGMA * e)));
  });
  const inputs = Float64Array.from({ length: CODES }, (_, i) => i + 1);
  const flat = new Float64Array(CODES).fill(0.05);
  const tr: Transitions = {
    first: 1,
    step: 1,
    inputs,
    noise: flat,
    gap: flat,
    density: flat.map(() => PER_CODE),
    sigma: SIGMA,
    readings,
  };
  return sweepMemory({ codes, first: 0, last: readings - 1, inputAt }, tr);
}

describe("sweepMemory", () => {
  it("finds none in white noise", () => expect(ramp(0)).toBeNull());
  it.each([false, true])("finds the memory of correlated noise, falling %s", (falls) => {
    const { sigma, factor } = ramp(0.7, falls)!;
    // Variance of a mean of AR(1) noise at ρ = 0.7: (1 + ρ)/(1 − ρ) = 5.67; the codes' own quantisation (1/12 beside 0.25) is white and takes about a quarter of it
    // off; allowances for what is not known put a third on.
    expect(factor).toBeGreaterThan(4);
    expect(factor).toBeLessThan(8);
    expect(sigma).toBeCloseTo(SIGMA, 1);
  });
});
