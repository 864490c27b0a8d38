import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { FigureSpec } from "../../reports/figureSpec.ts";
import { positionsOf, unpackFigure, unpackValues } from "../../reports/packedFigure.ts";
import { packFigure, packValues } from "../../reports/packFigure.ts";

describe("packValues", () => {
  it("brings back every value to half a step of 1/65 000 of the range, and every gap", () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.oneof(fc.double({ min: -1e6, max: 1e6, noNaN: true }), fc.constant(null), fc.constant(Number.NaN)),
          {
            maxLength: 200,
          },
        ),
        (values) => {
          const back = unpackValues(JSON.parse(JSON.stringify(packValues(values))));
          const known = values.filter((v): v is number => v !== null && Number.isFinite(v));
          const range = known.length === 0 ? 0 : Math.max(...known) - Math.min(...known);
          expect(back).toHaveLength(values.length);
          values.forEach((v, i) => {
            if (v === null || Number.isNaN(v)) expect(back[i]).toBeNaN();
            else expect(Math.abs(back[i]! - v)).toBeLessThanOrEqual(range / 65_000 / 2 + 1e-9);
          });
        },
      ),
    );
  });

  it("does not lose values that differ in their last digits only", () => {
    const values = [-999999.9999999906, -999999.9999999774];
    // 1e-9: the step is no finer than 1e-15 of the values' size.
    unpackValues(packValues(values)).forEach((v, i) => {
      expect(Math.abs(v - values[i]!)).toBeLessThan(1e-9);
    });
  });

  it("brings back whole numbers exactly up to a range of 65 000", () => {
    const values = Int32Array.from({ length: 65_001 }, (_, i) => i - 32_500 + 1_000_000);
    expect([...unpackValues(packValues(values))]).toEqual([...values]);
  });

  it("of nothing but gaps is nothing but gaps", () => {
    expect([...unpackValues(packValues([null, Number.NaN]))]).toEqual([Number.NaN, Number.NaN]);
  });
});

describe("packFigure", () => {
  it("survives the way through JSON", () => {
    const spec: FigureSpec = {
      id: "f-1",
      title: "INL",
      caption: "a < b",
      x: { quantity: "code", unit: "" },
      y: { quantity: "INL", unit: "LSB" },
      series: [
        { kind: "line", name: "INL", style: "main", x: { from: 1, step: 1, count: 3 }, y: [0, 1, 2] },
        { kind: "band", name: "interval", style: "reference", x: [1, 2, 4], low: [0, 0, 0], high: [1, 1, 1] },
      ],
      marks: [{ x: 2, label: "2" }],
    };
    const back = unpackFigure(JSON.parse(JSON.stringify(packFigure(spec))));
    expect([...positionsOf(back.series[0]!.x)]).toEqual([1, 2, 3]);
    expect([...positionsOf(back.series[1]!.x)]).toEqual([1, 2, 4]);
    expect(back.marks).toEqual(spec.marks);
    const band = back.series[1]!;
    if (band.kind !== "band") throw new Error("the band became something else");
    expect([...(band.high as Float64Array)]).toEqual([1, 1, 1]);
  });
});
