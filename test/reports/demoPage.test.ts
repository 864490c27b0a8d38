import { mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Io } from "../../cli/io.ts";
import { main } from "../../cli/main.ts";
import { parseResult } from "../../lib/parseResult.ts";
import { openBrowser } from "../../reports/openBrowser.ts";
import { bringAlive, openReport } from "./browser.ts";

/** The page of the demo session as the command writes it, from log to browser. */
const bench = fileURLToPath(new URL("../../fixtures/boardB.yaml", import.meta.url));
let folder: string;
let path: string;
let browser: Browser;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "codestair-demo-"));
  path = join(folder, "boardB.html");
  const io: Io = {
    out: () => {},
    err: () => {},
    colour: false,
    progress: false,
    columns: 80,
    stdin: (async function* () {})(),
    status: 0,
  };
  // Board B fails its limits by design: status 1.
  expect(await main(["score", bench, "--html", path, "--quiet"], io)).toBe(1);
  browser = await openBrowser();
});

afterAll(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

describe("the demo's page", () => {
  it("weighs less than 1 MB", () => expect(statSync(path).size).toBeLessThan(1_000_000));

  it("carries a result that reads back whole", () => {
    const result = parseResult(readFileSync(path, "utf8"), path);
    expect(result.captures.map((c) => c.name)).toEqual(["tone", "histogram", "ramp", "steady", "steps"]);
    expect(result.captures[1]!.transitions!.codes.length).toBe(4095);
    expect(result.verdict.decision).toBe("fail");
  });

  it("draws every figure, asks nothing of the network, and shows no number that is none", async () => {
    const { page, complaints, outside, close } = await openReport(browser, path);
    await bringAlive(page);
    expect(await page.locator("figure.live canvas").count()).toBeGreaterThan(20);
    expect(complaints).toEqual([]);
    expect(outside).toEqual([]);
    const text = await page.evaluate(() => {
      const body = document.body.cloneNode(true) as HTMLElement;
      for (const s of body.querySelectorAll("script, style")) s.remove();
      return body.textContent ?? "";
    });
    expect(text).not.toMatch(/\b(?:NaN|undefined|null|Infinity|\[object)/);
    await page.setViewportSize({ width: 390, height: 800 });
    await page.waitForTimeout(100);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
    await close();
  });
});
