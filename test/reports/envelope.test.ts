import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { SineFit } from "../../lib/signal/sineFit.ts";
import {
  columnEnvelope,
  envelope,
  evenEdges,
  foldedEnvelope,
  foldedResidual,
  residualEnvelope,
  spectrumEdges,
} from "../../reports/envelope.ts";

const sineFit = (more: Partial<SineFit> = {}): SineFit => ({
  cyclesPerReading: 0.0123,
  amplitude: 900,
  offset: 2048,
  phase: 0.7,
  rss: 0,
  residualRms: 0.3,
  readings: 10_000,
  parameters: 4,
  standard: { cyclesPerReading: 0, amplitude: 0, offset: 0, phase: 0 },
  ...more,
});

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

describe("residualEnvelope", () => {
  it("agrees with the cosine of each reading to a millionth of an LSB over 100 000 readings", () => {
    const f = sineFit();
    const codes = Int32Array.from({ length: 100_000 }, (_, n) => Math.round(2048 + 900 * Math.cos(0.077 * n)));
    const { each, low, high } = residualEnvelope(
      codes,
      f,
      { first: 0, last: codes.length - 1, bottom: 0, top: 4095 },
      50,
    );
    for (let b = 0; b < low.length; b++) {
      let lo = Number.POSITIVE_INFINITY;
      let hi = Number.NEGATIVE_INFINITY;
      for (let n = b * each; n < Math.min(codes.length, (b + 1) * each); n++) {
        const r = codes[n]! - f.offset - f.amplitude * Math.cos(2 * Math.PI * f.cyclesPerReading * n + f.phase);
        lo = Math.min(lo, r);
        hi = Math.max(hi, r);
      }
      // 4096 turns of one rounding error each (1.1e-16 of 900 LSB) stay below 1e-9 LSB.
      expect(Math.abs(low[b]! - lo)).toBeLessThan(1e-6);
      expect(Math.abs(high[b]! - hi)).toBeLessThan(1e-6);
    }
  });
});

it("residualEnvelope leaves a block at the rails empty", () => {
  const { low } = residualEnvelope(
    Int32Array.of(0, 0, 2048, 2048),
    sineFit(),
    { first: 0, last: 3, bottom: 0, top: 4095 },
    2,
  );
  expect(low[0]).toBeNaN();
  expect(low[1]).not.toBeNaN();
});

describe("foldedEnvelope and foldedResidual", () => {
  const f = sineFit({ cyclesPerReading: 0.25, phase: 0 });

  it("put a reading into the slice of its phase and leave the others empty", () => {
    const { low } = foldedEnvelope(Int32Array.of(10, 20, 30, 40, 11), f, 8);
    expect([...low]).toEqual([10, Number.NaN, 20, Number.NaN, 30, Number.NaN, 40, Number.NaN]);
  });

  it("average what the sine leaves, rails and other stretches left out", () => {
    const part = { first: 0, last: 8, bottom: 0, top: 4095 };
    const { mean } = foldedResidual(Int32Array.of(4095, 2048, 1148, 2048, 2950, 2048, 1148, 2048, 2952), f, part, 4);
    // Closed form: at phase 0 the sine stands at 2948; 2 and 4 are left.
    expect(mean[0]).toBeCloseTo(3, 9);
    expect(mean[2]).toBeCloseTo(0, 9);
  });
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
