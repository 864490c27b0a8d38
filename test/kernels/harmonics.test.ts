import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { kernels } from "../../lib/kernels/kernels.generated.js";

describe("harmonicProducts", () => {
  it("are the sums of the columns' products, reading by reading", () =>
    fc.assert(
      fc.property(
        fc.integer({ min: 3, max: 300 }),
        fc.oneof(fc.double({ min: 0.001, max: 0.499, noNaN: true }), fc.constantFrom(0.25, 1 / 3, 0.125, 0.5)),
        fc.double({ min: -3, max: 3, noNaN: true }),
        (readings, cyclesPerReading, phase) => {
          const order = Int32Array.of(0, 1, 1, 1, 2, 2, 3, 3, 10, 10);
          const kind = Int32Array.of(0, 0, 1, 2, 0, 1, 0, 1, 0, 1);
          const tone = { offset: 0, amplitude: 1, cyclesPerReading, phase };
          const found = kernels.harmonicProducts(tone, readings, order, kind);
          const centre = (readings - 1) / 2;
          const columns = [...order].map((h, i) =>
            Array.from({ length: readings }, (_, m) => {
              const θ = 2 * Math.PI * cyclesPerReading * (m - centre);
              if (kind[i] === 2)
                return ((m - centre) / centre) * Math.sin(θ + phase + 2 * Math.PI * cyclesPerReading * centre);
              return kind[i] === 1 ? Math.sin(h * θ) : Math.cos(h * θ);
            }),
          );
          columns.forEach((a, i) => {
            columns.forEach((b, j) => {
              const sum = a.reduce((s, v, m) => s + v * b[m]!, 0);
              // 300 readings of at most 1, angles of up to 10·2π·75: rounding of 1e-13 each.
              expect(Math.abs(found[i * order.length + j]! - sum)).toBeLessThan(1e-9);
            });
          });
        },
      ),
    ));
});
