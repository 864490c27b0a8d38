import fc from "fast-check";
import { expect, it } from "vitest";
import { alongSine } from "../../lib/signal/alongSine.ts";

// Closed form: offset + A·cos(2πfn + φ). Tolerance 1e-9 of A: the closed form itself loses n·1e-16 turns at n = 10⁶.
it("gives the sine's values, in order and out of it", () => {
  fc.assert(
    fc.property(
      fc.double({ min: 0, max: 0.5, noNaN: true }),
      fc.double({ min: -4, max: 4, noNaN: true }),
      fc.double({ min: 0, max: 1e5, noNaN: true }),
      fc.array(fc.integer({ min: 0, max: 1_000_000 }), { minLength: 1, maxLength: 20 }),
      (cyclesPerReading, phase, amplitude, places) => {
        const at = alongSine({ cyclesPerReading, phase, amplitude, offset: 17 });
        for (const n of [...places, ...places.map((p) => p + 1), 0, 1, 1023, 1024, 2049]) {
          const wanted = 17 + amplitude * Math.cos(2 * Math.PI * cyclesPerReading * n + phase);
          expect(Math.abs(at(n) - wanted)).toBeLessThan(1e-8 * amplitude + 1e-9);
        }
      },
    ),
  );
});
