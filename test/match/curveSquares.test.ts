import { expect, it } from "vitest";
import { curveSquares } from "../../lib/match/curveSquares.ts";
import { seededRandom } from "../../lib/signal/random.ts";

const N = 12_000;
const PHASE = 0.7;

/** What a tone of `cycles` in the record leaves: `curve` of the code it passes, an own value for each of 300 codes, and noise. */
function left(cycles: number, curve: (code: number) => number, other: (n: number) => number): Float64Array {
  return Float64Array.from({ length: N }, (_, n) => {
    const code = Math.round(150 + 149 * Math.cos((2 * Math.PI * cycles * n) / N + PHASE));
    return curve(code) + other(n);
  });
}
const squares = (values: Float64Array): number => values.reduce((sum, x) => sum + x * x, 0);

// By construction: curve and switching are independent of each other and of the phase.
it.each([0.9, 1.3, 2.7, 17.8, 401.3])(
  "finds the converter's own curve again in %d cycles, and not what switches or scatters",
  (cycles) => {
    const random = seededRandom(4);
    const errors = Array.from({ length: 300 }, () => random.normal());
    const share = (values: Float64Array): number => curveSquares(values, cycles / N, PHASE) / squares(values);
    // In 0.9 cycles a fifth of the values lie at codes passed once; a slice holds the edge of a code or two.
    expect(
      share(
        left(
          cycles,
          (code) => errors[code]!,
          () => 0,
        ),
      ),
    ).toBeGreaterThan(0.6);
    let level = 1;
    // 100 stays scatter by a tenth; three times that.
    expect(
      Math.abs(
        share(
          left(
            cycles,
            () => 0,
            () => (level *= random.uniform() < 100 / N ? -1 : 1),
          ),
        ),
      ),
    ).toBeLessThan(0.3);
    expect(
      Math.abs(
        share(
          left(
            cycles,
            () => 0,
            () => random.normal(),
          ),
        ),
      ),
    ).toBeLessThan(0.1);
  },
);
