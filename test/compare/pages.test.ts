import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { compare } from "../../lib/compare/compare.ts";
import { INDEPENDENT } from "../../lib/compare/difference.ts";
import { regress } from "../../lib/regress/regress.ts";
import type { Result } from "../../lib/result.ts";
import { trend } from "../../lib/trend/trend.ts";
import { renderComparePage } from "../../reports/comparePage.ts";
import { openBrowser } from "../../reports/openBrowser.ts";
import { renderRegressPage } from "../../reports/regressPage.ts";
import { renderTrendPage } from "../../reports/trendPage.ts";
import { openReport } from "../reports/browser.ts";
import { simulatedCapture } from "../trim/simulatedCapture.ts";
import { capture, figure, result } from "./builtResult.ts";

const NASTY = `<img src=x onerror="document.title='owned'">`;

/** A board with curves to lay over each other, and a title that must do no harm. */
function board(name: string, enob: number | null, bow: number): Result {
  const { capture: ramp, converter } = simulatedCapture({ bits: 8 }, { bow });
  const inl = ramp.transitions!.codes.map((k) => bow * 4 * ((k - 1) / 254) * (1 - (k - 1) / 254));
  return result(
    [
      {
        ...ramp,
        metrics: { ...ramp.metrics, inlMax: figure("inlMax", bow, 0.1) },
        transitions: { ...ramp.transitions!, inl },
      },
      capture("tone", {
        converter,
        metrics: {
          enob: enob === null ? figure("enob", null, null, { reason: "stimulus clips" }) : figure("enob", enob, 0.05),
        },
        spectrum: { unit: "Hz", frequencies: [0, 1000, 2000, 3000], levels: [-90, -1, -70, -95] },
      }),
      capture("quiet", {
        converter,
        stimulus: { kind: "steady" },
        metrics: { noiseRms: figure("noiseRms", 0.5, 0.03) },
        codeCounts: { codes: [99, 100, 101], counts: [20, 100, 30] },
      }),
    ],
    { title: `${name} ${NASTY}`, conditions: { board: name, simulated: "yes" }, written: "2025-03-01T00:00:00Z" },
  );
}

const A = board("A", 7.5, 0.5);
const B = board("B", 7.1, 1.4);
const options = { version: "0.1.0", written: null, simulated: true, json: "{}" };
const side = (name: string, r: Result) => ({
  name,
  title: r.bench.title,
  conditions: r.bench.conditions,
  written: r.written,
  hashes: [],
});
const inputs = [
  { name: "a.json", result: A },
  { name: "b.json", result: B },
];
const pages = {
  compare: renderComparePage(compare(inputs, INDEPENDENT)!, options),
  regress: renderRegressPage(
    regress(A, board("B", null, 1.4), { shared: INDEPENDENT, allow: {} }),
    { baseline: side("a.json", A), now: side("b.json", B) },
    options,
  ),
  trend: renderTrendPage(
    trend([...inputs, { name: "c.json", result: B }], { asGiven: true, metrics: [], shared: INDEPENDENT }),
    options,
  ),
};

let browser: Browser;
let folder: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "codestair-pages-"));
  for (const [name, page] of Object.entries(pages)) writeFileSync(join(folder, `${name}.html`), page);
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

describe.each(["compare", "regress", "trend"] as const)("the page of %s", (name) => {
  it.each([1280, 390])("opens from a file at %i px without complaint, request or sideways scrolling", async (width) => {
    const opened = await openReport(browser, join(folder, `${name}.html`), { width });
    const { page } = opened;
    await page.waitForTimeout(300);
    expect(opened.complaints).toEqual([]);
    expect(opened.outside).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth)).toBeLessThanOrEqual(0);
    expect(await page.title()).not.toBe("owned");
    expect(await page.locator("img").count()).toBe(0);
    expect(await page.getByText("Simulated data.").count()).toBeGreaterThan(0);
    await opened.close();
  });

  it("has no accessibility fault that axe-core finds", async () => {
    const opened = await openReport(browser, join(folder, `${name}.html`), { bypassCSP: true });
    await opened.page.addScriptTag({ content: axe });
    const faults = await opened.page.evaluate(async () => {
      const run = await (
        window as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }
      ).axe.run();
      return run.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 80)).join(" | ")}`);
    });
    expect(faults).toEqual([]);
    await opened.close();
  });
});

describe("what the pages show", () => {
  it("compare lays INL, spectra and noise over each other", () => {
    for (const id of ["inl-over-1", "spectrum-over-2", "noise-over-3"]) expect(pages.compare).toContain(`id="${id}"`);
  });
  it("regress names what vanished, with its reason", () => {
    expect(pages.regress).toMatch(/not measured any more: ENOB/);
    expect(pages.regress).toContain("stimulus clips");
  });
  it("trend draws one figure a metric", () => {
    expect(pages.trend.match(/<figure /g)).toHaveLength(5);
  });
});
