import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { FigureSpec } from "../../reports/figureSpec.ts";
import { figureSvg } from "../../reports/figureSvg.ts";
import { SvgPath } from "../../reports/svgPath.ts";

/** A slow reader of path data with M, l, h, v and z, as SVG 2 (W3C, 2018, chapter 9) has them: the corners, absolute. */
function corners(d: string): [number, number][] {
  const found: [number, number][] = [];
  let [x, y] = [0, 0];
  for (const [, command, rest] of d.matchAll(/([Mlhvz])([^Mlhvz]*)/g)) {
    const n = [...(rest ?? "").matchAll(/-?(?:\d+\.?\d*|\.\d+)/g)].map((m) => Number(m[0]));
    if (command === "M") [x, y] = [n[0]!, n[1]!];
    else if (command === "l") [x, y] = [x + n[0]!, y + n[1]!];
    else if (command === "h") x += n[0]!;
    else if (command === "v") y += n[0]!;
    if (command !== "z") found.push([x, y]);
  }
  return found;
}

describe("SvgPath", () => {
  it("ends where it should after any number of steps: rounding never adds up", () => {
    const pixel = fc.double({ min: -50, max: 1000, noNaN: true });
    fc.assert(
      fc.property(fc.array(fc.tuple(pixel, pixel), { minLength: 1, maxLength: 200 }), (points) => {
        const path = new SvgPath();
        path.moveTo(...points[0]!);
        for (const point of points.slice(1)) path.lineTo(...point);
        const [x, y] = corners(`${path}`).at(-1)!;
        // Half a tenth of a pixel, and the binary tail of up to 200 decimal steps.
        expect(Math.abs(x - points.at(-1)![0])).toBeLessThan(0.05 + 1e-6);
        expect(Math.abs(y - points.at(-1)![1])).toBeLessThan(0.05 + 1e-6);
      }),
    );
  });
});

const spec = (more: Partial<FigureSpec>): FigureSpec => ({
  id: "f-1",
  title: "A figure",
  caption: "What to see.",
  x: { quantity: "reading", unit: "" },
  y: { quantity: "code", unit: "LSB", range: [0, 100] },
  series: [],
  ...more,
});
const pathOf = (svg: string, name: string): string => new RegExp(`class="${name}" d="([^"]*)"`).exec(svg)![1]!;

describe("figureSvg", () => {
  it("keeps a single peak among a million points", () => {
    const y = new Float64Array(1_000_000).fill(10);
    y[654_321] = 90;
    const svg = figureSvg(
      spec({ series: [{ kind: "line", name: "a", style: "main", x: { from: 0, step: 1, count: y.length }, y }] }),
      { width: 480, height: 290 },
    );
    const points = corners(pathOf(svg, "line main"));
    const ys = points.map((p) => p[1]);
    // 10 and 90 of 0…100 on a plot 242 px high (8 px above, 40 px below).
    expect(Math.max(...ys) - Math.min(...ys)).toBeCloseTo(0.8 * 242, 0);
    const peak = points[ys.indexOf(Math.min(...ys))]![0];
    const left = points[0]![0];
    expect((peak - left) / (points.at(-1)![0] - left)).toBeCloseTo(0.654, 2);
    expect(points.length).toBeLessThan(1200);
  });

  it("breaks a line where nothing was tested", () => {
    const svg = figureSvg(
      spec({ series: [{ kind: "line", name: "a", style: "main", x: [0, 1, 2, 3, 4], y: [1, 2, Number.NaN, 4, 5] }] }),
      { width: 480, height: 290 },
    );
    expect(pathOf(svg, "line main").match(/M/g)).toHaveLength(2);
    expect(svg).not.toContain("NaN");
  });

  it("has no place for 0 on a logarithmic axis, and draws the rest", () => {
    const svg = figureSvg(
      spec({ series: [{ kind: "line", name: "a", style: "main", x: [0, 1, 10, 100], y: [5, 10, 20, 30] }] }),
      { width: 480, height: 290, view: { xLog: true } },
    );
    expect(corners(pathOf(svg, "line main"))).toHaveLength(3);
    expect(svg).not.toContain("Infinity");
  });

  it("carries title, axes, key and caption when it leaves the page, and no markup of their text", () => {
    const svg = figureSvg(
      spec({
        title: "</svg><script>",
        series: [{ kind: "points", name: "found & counted", style: "second", x: [0, 1], y: [1, 2] }],
      }),
      { width: 960, height: 440, standalone: true },
    );
    expect(svg).not.toContain("<script>");
    for (const part of ["code in LSB", "reading", "found &amp; counted: diamonds", "What to see."])
      expect(svg).toContain(part);
  });

  it("of nothing is still a frame with axes", () => {
    expect(figureSvg(spec({ y: { quantity: "y", unit: "" } }), { width: 480, height: 290 })).toMatch(/class="frame"/);
  });
});
