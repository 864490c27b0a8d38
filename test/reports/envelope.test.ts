import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { columnEnvelope, envelope, evenEdges, spectrumEdges } from "../../reports/envelope.ts";

describe("envelope", () => {
  it("agrees with a slow obvious loop", () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -70_000, max: 70_000 }), { minLength: 1, maxLength: 300 }),
        fc.integer({ min: 1, max: 80 }),
        (values, columns) => {
          const { each, low, high } = envelope(Int32Array.from(values), columns);
          expect(low.length).toBeLessThanOrEqual(columns);
          for (let b = 0; b < low.length; b++) {
            const block = values.slice(b * each, (b + 1) * each);
            expect([low[b], high[b]]).toEqual([Math.min(...block), Math.max(...block)]);
          }
        },
      ),
    );
  });

  it("of no readings is empty", () => expect(envelope(new Int32Array(0), 10).low).toHaveLength(0));
});

describe("columnEnvelope", () => {
  it("keeps an untested stretch a gap", () => {
    const { low, high } = columnEnvelope(Float64Array.of(1, 3, Number.NaN, Number.NaN, 2, Number.NaN), evenEdges(6, 3));
    expect([...low]).toEqual([1, Number.NaN, 2]);
    expect([...high]).toEqual([3, Number.NaN, 2]);
  });
});

describe("spectrumEdges", () => {
  it("starts at line 1, ends at the last, rises, and is fine at both ends of a logarithmic axis", () => {
    const edges = spectrumEdges(500_000, 1000);
    expect(edges[0]).toBe(1);
    expect(edges.at(-1)).toBe(500_000);
    for (let i = 1; i < edges.length; i++) expect(edges[i]!).toBeGreaterThan(edges[i - 1]!);
    expect(edges.slice(0, 5)).toEqual([1, 2, 3, 4, 5]);
    expect(edges.length).toBeLessThan(2100);
  });
});
