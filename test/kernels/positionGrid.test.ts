import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { kernels } from "../../lib/kernels/kernels.generated.js";
import { seededRandom } from "../../lib/signal/random.ts";

const positions = fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 300 });

describe("sortedPositions, merged", () => {
  it("sort as a comparison sort does, whatever the spread", () =>
    fc.assert(
      fc.property(positions, (values) => {
        const sorted = kernels.sortedPositions(Float64Array.from(values));
        expect([...sorted]).toEqual(values.slice().sort((a, b) => a - b));
      }),
    ));
  it("many equal positions among few do not slow it to a square", () => {
    // 200 000 readings on three phases: an insertion sort of a bucket would take billions of steps and the test's time limit.
    const values = Float64Array.from({ length: 200_000 }, (_, n) => [0.2, 0.5, 0.9][n % 3]!);
    expect(kernels.sortedPositions(values)[100_000]).toBe(0.5);
  });
  it("merged keeps order", () =>
    expect([...kernels.merged(Float64Array.of(0.1, 0.4), Float64Array.of(0.2, 0.4, 0.9))]).toEqual([
      0.1, 0.2, 0.4, 0.4, 0.9,
    ]));
});

describe("quantile", () => {
  it("lies half-way between readings where each stands alone", () => {
    const grid = kernels.gridOf(Float64Array.of(0.1, 0.2, 0.4, 0.8));
    expect(kernels.quantile(grid, 2, 0).position).toBeCloseTo(0.3, 12);
    expect(kernels.quantile(grid, 3, 0).position).toBeCloseTo(0.6, 12);
  });
  it("shares a position's readings over its own cell where phases repeat", () => {
    // Four readings on each of 0.2, 0.4, 0.6: the cell of 0.4 runs from 0.3 to 0.5.
    const grid = kernels.gridOf(Float64Array.from([0.2, 0.4, 0.6].flatMap((p) => [p, p, p, p])));
    expect(grid.positions.length).toBe(3);
    expect(kernels.quantile(grid, 4, 0).position).toBeCloseTo(0.3, 12);
    expect(kernels.quantile(grid, 6, 0).position).toBeCloseTo(0.4, 12);
    expect(kernels.quantile(grid, 8, 0).position).toBeCloseTo(0.5, 12);
  });
  it("countAt is its inverse", () => {
    const random = seededRandom(5);
    const grid = kernels.gridOf(kernels.sortedPositions(Float64Array.from({ length: 500 }, () => random.uniform())));
    for (let below = 1; below < 500; below += 7)
      expect(kernels.countAt(grid, kernels.quantile(grid, below, 0).position)).toBeCloseTo(below, 6);
  });
});

describe("indexAt", () => {
  it("agrees with a search from the front", () =>
    fc.assert(
      fc.property(positions, fc.double({ min: -0.2, max: 1.2, noNaN: true }), (values, x) => {
        const grid = kernels.gridOf(kernels.sortedPositions(Float64Array.from(values)));
        const found = grid.positions.findIndex((p) => p >= x);
        expect(kernels.indexAt(grid.positions, x)).toBe(found < 0 ? grid.positions.length : found);
      }),
    ));
});

describe("countTable", () => {
  it("holds countAt at even places", () =>
    fc.assert(
      fc.property(positions, (values) => {
        const grid = kernels.gridOf(kernels.sortedPositions(Float64Array.from(values)));
        const table = kernels.countTable(grid);
        const cells = table.length - 1;
        table.forEach((count, i) => {
          // At a jump (two equal positions) either side is right; elsewhere they agree.
          const at = kernels.countAt(grid, i / cells);
          const next = kernels.countAt(grid, i / cells + 1e-12);
          expect(count).toBeGreaterThanOrEqual(Math.min(at, next) - 1e-6);
          expect(count).toBeLessThanOrEqual(Math.max(at, next) + 1e-6);
        });
        expect(kernels.tableCount(table, 2)).toBe(grid.readings);
        expect(kernels.tableCount(table, 0.5 / cells)).toBeCloseTo((table[0]! + table[1]!) / 2, 9);
      }),
      { examples: [[[1]]] },
    ));
});

describe("gridOfBuckets", () => {
  it("puts a bucket's readings at its middle and drops empty buckets", () => {
    const grid = kernels.gridOfBuckets(Int32Array.of(2, 0, 0, 1), new Int32Array(0));
    expect([...grid.positions]).toEqual([0.125, 0.875]);
    expect([...grid.counts]).toEqual([2, 3]);
  });

  it("counts the readings below any bucket's edge exactly where all buckets are filled, however unevenly", () => {
    const filled = Int32Array.of(3, 1, 7, 2, 5, 1, 1, 9);
    const grid = kernels.gridOfBuckets(filled, new Int32Array(0));
    let below = 0;
    for (const [i, count] of filled.subarray(0, 7).entries()) {
      below += count;
      expect(kernels.countAt(grid, (i + 1) / 8)).toBeCloseTo(below, 12);
    }
  });
});

describe("unevenness", () => {
  it("is nothing for even positions, and the shortfall in readings where there is a hole", () => {
    const even = kernels.gridOf(Float64Array.from({ length: 3200 }, (_, n) => (n + 0.5) / 3200));
    expect(kernels.unevenness(even, 0)).toBeLessThan(1e-6);
    // All readings of each thirty-second part moved into its first half: at the middle the count is ahead by a quarter of 100.
    const holes = kernels.gridOf(
      Float64Array.from({ length: 3200 }, (_, n) => (Math.floor(n / 100) + (n % 100) / 200) / 32),
    );
    expect(kernels.unevenness(holes, 0)).toBeGreaterThan(20);
  });
});
