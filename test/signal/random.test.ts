import { describe, expect, it } from "vitest";
import { seededRandom } from "../../lib/signal/random.ts";

describe("seededRandom", () => {
  it("repeats itself with the same seed and differs with another", () => {
    const draw = (seed: number): number[] => {
      const random = seededRandom(seed);
      return Array.from({ length: 5 }, () => random.uniform());
    };
    expect(draw(7)).toEqual(draw(7));
    expect(draw(7)).not.toEqual(draw(8));
  });

  it("has the moments of a uniform and of a normal distribution", () => {
    const random = seededRandom(3);
    const n = 200_000;
    let inside = true;
    let mean = 0;
    let normal = 0;
    let square = 0;
    let fourth = 0;
    for (let i = 0; i < n; i++) {
      const u = random.uniform();
      inside = inside && u >= 0 && u < 1;
      mean += u / n;
      const z = random.normal();
      normal += z / n;
      square += z ** 2 / n;
      fourth += z ** 4 / n;
    }
    expect(inside).toBe(true);
    // Closed forms 1/2, 0, 1, 3; four standard deviations of each at 200 000 draws: 0.0026, 0.0089, 0.0126, 0.088.
    expect(Math.abs(mean - 0.5)).toBeLessThan(0.0026);
    expect(Math.abs(normal)).toBeLessThan(0.0089);
    expect(Math.abs(square - 1)).toBeLessThan(0.0126);
    expect(Math.abs(fourth - 3)).toBeLessThan(0.088);
  });
});
