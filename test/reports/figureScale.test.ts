import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { tickLabels, ticks, xExtent, yExtent } from "../../reports/figureScale.ts";
import type { FigureSpec } from "../../reports/figureSpec.ts";

const axis = { quantity: "x", unit: "" };

describe("ticks", () => {
  it("stand at multiples of 1, 2 or 5 times a power of ten within the ends, no more than asked for", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e5, max: 1e5, noNaN: true }),
        fc.double({ min: 1e-3, max: 1e5, noNaN: true }),
        fc.integer({ min: 2, max: 12 }),
        (low, span, most) => {
          const found = ticks([low, low + span], most, axis, false);
          expect(found.length).toBeLessThanOrEqual(most + 1);
          if (found.length < 2) return;
          const step = found[1]! - found[0]!;
          const mantissa = Number((step / 10 ** Math.floor(Math.log10(step) + 1e-9)).toPrecision(3));
          expect([1, 2, 5, 10]).toContain(mantissa);
          expect(found[0]!).toBeGreaterThanOrEqual(low - 1e-6 * span);
          expect(found.at(-1)!).toBeLessThanOrEqual(low + span + 1e-6 * span);
        },
      ),
    );
  });

  it("keep to whole numbers where the axis counts", () => {
    expect(ticks([0, 2.2], 10, { ...axis, whole: true }, false)).toEqual([0, 1, 2]);
  });

  it("stand at decades of a logarithmic axis", () => {
    expect(ticks([1, 10_000], 5, axis, true)).toEqual([1, 10, 100, 1000, 10_000]);
  });
});

describe("tickLabels", () => {
  it("are written to one place", () => expect(tickLabels([-0.5, 0, 0.5], false)).toEqual(["−0.5", "0.0", "0.5"]));
  it("write small and large decades as powers", () => expect(tickLabels([1e-5, 1e7], true)).toEqual(["10⁻⁵", "10⁷"]));
});

describe("extents", () => {
  const spec = (more: Partial<FigureSpec>): FigureSpec => ({
    id: "f",
    title: "",
    caption: "",
    x: axis,
    y: axis,
    series: [{ kind: "line", name: "a", style: "main", x: [0, 1, 2], y: [0, Number.NaN, 4] }],
    ...more,
  });

  it("of x span the data and what is hatched", () => {
    expect(xExtent(spec({ hatched: [{ from: 2, to: 5, label: "not tested" }] }), false)).toEqual([0, 5]);
  });

  it("of y leave room, and keep a limit in sight unless it would flatten the curve", () => {
    const near = yExtent(spec({ limits: [{ y: 6, label: "" }] }), [0, 2], false);
    expect(near[1]).toBeGreaterThan(6);
    const far = yExtent(spec({ limits: [{ y: 600, label: "" }] }), [0, 2], false);
    expect(far[1]).toBeLessThan(6);
  });

  it("of nothing are still an axis", () => {
    const none = spec({ series: [] });
    expect(xExtent(none, false)).toEqual([0, 1]);
    expect(yExtent(none, [0, 1], true)).toEqual([1, 10]);
  });
});
