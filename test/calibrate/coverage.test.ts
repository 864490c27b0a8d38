import { expect, it } from "vitest";
import type { Condition } from "./conditions.ts";
import { describe } from "./conditions.ts";
import { coverage } from "./coverage.ts";

/** A small version of `npm run calibrate`: few captures, so only an interval that lies outright is caught. */
const TRIALS = 40;
/**
 * An interval that holds 93 % of the time holds fewer than 30 of 40 with a chance of 4e-5 (binomial, closed form); some 40 figures are tried here, so that a
 * sound build fails less than once in 600 runs even with other seeds. The seeds are fixed.
 */
const LEAST = 30 / 40;

const CONDITIONS: Condition[] = [
  { stimulus: "tone", bits: 8, noise: 0.3, readings: 256, coherent: false },
  { stimulus: "sine histogram", bits: 8, noise: 0.3, readings: 4096, coherent: true },
  { stimulus: "ramp", bits: 8, noise: 0.3, readings: 4096 },
  { stimulus: "steady", bits: 12, noise: 1, readings: 500 },
  { stimulus: "steps", bits: 12, noise: 0.5, readings: 1700 },
];

for (const condition of CONDITIONS)
  it(`intervals hold the truth: ${describe(condition)} readings`, () => {
    const results = coverage(condition, TRIALS, 4001);
    // A measure that claims nothing would hold vacuously.
    expect(results.filter((r) => r.claimed >= TRIALS / 2).length).toBeGreaterThanOrEqual(4);
    for (const { metric, held, claimed } of results)
      if (claimed >= TRIALS / 2) expect(held / claimed, metric).toBeGreaterThanOrEqual(LEAST);
  });
