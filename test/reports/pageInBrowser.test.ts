import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openBrowser } from "../../reports/openBrowser.ts";
import { renderPage } from "../../reports/page.ts";
import { bringAlive, openReport } from "./browser.ts";
import { HOSTILE, type SampleName, sampleSession } from "./sampleSession.ts";

const NAMES: SampleName[] = ["good", "failing", "undecided", "broken", "sixty", "hostile", "unreadable"];
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

let browser: Browser;
let folder: string;
const path = (name: SampleName): string => join(folder, `${name}.html`);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "codestair-page-"));
  for (const name of NAMES)
    writeFileSync(
      path(name),
      renderPage(sampleSession(name), {
        version: "0.0.0",
        written: "2026-03-02T10:11:12Z",
        result: { schema: "codestair-result/1", note: HOSTILE },
      }),
    );
  browser = await openBrowser();
});

afterAll(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

/** axe-core is evaluated from outside the page's policy; the page itself may run nothing but its own script. */
async function axeProblems(page: Page): Promise<string[]> {
  await page.evaluate(axe);
  return page.evaluate(async () => {
    type Run = { violations: { id: string; nodes: { html: string; failureSummary?: string }[] }[] };
    const run = (globalThis as unknown as { axe: { run(o: object): Promise<Run> } }).axe;
    const result = await run.run({ resultTypes: ["violations"] });
    return result.violations.flatMap((v) =>
      v.nodes.slice(0, 3).map((n) => `${v.id}: ${n.html.slice(0, 160)} ${n.failureSummary ?? ""}`),
    );
  });
}

describe.each(NAMES)("the page of the %s session", (name) => {
  it("asks nothing of the network, complains of nothing, fits 1280 and 390 px, and gives axe-core nothing to find", async () => {
    const { page, complaints, outside, close } = await openReport(browser, path(name));
    await bringAlive(page);
    await page.evaluate(() => {
      for (const fold of document.querySelectorAll("details")) fold.open = true;
    });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(1280);
    expect(await axeProblems(page)).toEqual([]);
    const levels = await page.evaluate(() =>
      [...document.querySelectorAll("h1,h2,h3,h4,h5,h6")].map((h) => Number(h.tagName[1])),
    );
    expect(levels.filter((l) => l === 1)).toHaveLength(1);
    for (let i = 1; i < levels.length; i++) expect(levels[i]!).toBeLessThanOrEqual(levels[i - 1]! + 1);
    await page.setViewportSize({ width: 390, height: 800 });
    await page.waitForTimeout(100);
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
    expect(outside).toEqual([]);
    expect(complaints).toEqual([]);
    expect(await page.title()).not.toBe("owned");
    await close();
  });
});

it("keeps its contrast in the dark and on a phone: axe-core finds nothing there either", async () => {
  const { page, close } = await openReport(browser, path("failing"), { colorScheme: "dark", width: 390 });
  await bringAlive(page);
  await page.evaluate(() => {
    for (const fold of document.querySelectorAll("details")) fold.open = true;
  });
  expect(await axeProblems(page)).toEqual([]);
  await close();
});

describe("plots", () => {
  it("draw ink on their canvases", async () => {
    const { page, close } = await openReport(browser, path("failing"));
    await bringAlive(page);
    const blank = await page.evaluate(() =>
      [...document.querySelectorAll("figure.live")]
        .filter((f) => {
          const canvas = f.querySelector("canvas") as HTMLCanvasElement;
          const data = canvas.getContext("2d")!.getImageData(0, 0, canvas.width, canvas.height).data;
          const inks = new Set<number>();
          for (let i = 0; i < data.length; i += 4)
            if (data[i + 3]! > 200) inks.add((data[i]! << 16) | (data[i + 1]! << 8) | data[i + 2]!);
          // Frame, grid and type alone are greys; a curve adds its colour.
          return ![...inks].some(
            (c) => Math.max(c >> 16, (c >> 8) & 255, c & 255) - Math.min(c >> 16, (c >> 8) & 255, c & 255) > 60,
          );
        })
        .map((f) => f.id),
    );
    expect(blank).toEqual([]);
    await close();
  });

  it("zoom by dragging, together with the plots of the same axis, and come back on a double click", async () => {
    const { page, close } = await openReport(browser, path("failing"));
    await bringAlive(page);
    const ticks = (id: string): Promise<string> => readCursor(page, id);
    const over = page.locator("#inl-2 .u-over");
    const whole = await ticks("dnl-2");
    await over.scrollIntoViewIfNeeded();
    const box = (await over.boundingBox())!;
    await page.mouse.move(box.x + box.width * 0.4, box.y + 50);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.6, box.y + 60, { steps: 5 });
    await page.mouse.up();
    const zoomed = await ticks("dnl-2");
    expect(zoomed).not.toBe(whole);
    // Half way along, code 2 048 stays; a quarter along is now code 1 843, not 1 024.
    const quarter = Number(/code ([\d\u202f]+)/.exec(zoomed)![1]!.replace(/\u202f/g, ""));
    expect(quarter).toBeGreaterThan(1750);
    expect(quarter).toBeLessThan(1950);
    await over.dblclick({ position: { x: 100, y: 50 } });
    expect(await ticks("dnl-2")).toBe(whole);
    await close();
  });

  /** What the readout says with the pointer a quarter along the plot. */
  async function readCursor(page: Page, id: string): Promise<string> {
    const over = page.locator(`#${id} .u-over`);
    await over.scrollIntoViewIfNeeded();
    const box = (await over.boundingBox())!;
    await page.mouse.move(box.x + box.width * 0.25, box.y + 40);
    return (await page.locator(`#${id} .readout`).textContent()) ?? "";
  }

  it("link their cursors: pointing at INL reads DNL at the same code", async () => {
    const { page, close } = await openReport(browser, path("failing"));
    await bringAlive(page);
    const said = await readCursor(page, "inl-2");
    const code = /code (\S+)/.exec(said)![1];
    expect(await page.locator("#dnl-2 .readout").textContent()).toContain(`code ${code} `);
    await close();
  });

  it("answer the keyboard: cursor, zoom, pan, all, axis", async () => {
    const { page, close } = await openReport(browser, path("failing"));
    await bringAlive(page);
    const plot = page.locator("#spectrum-1 .live-plot");
    const readout = page.locator("#spectrum-1 .readout");
    await plot.focus();
    await page.keyboard.press("ArrowRight");
    const first = await readout.textContent();
    expect(first).toMatch(/frequency [\d.]+ kHz · level/);
    await page.keyboard.press("ArrowRight");
    expect(await readout.textContent()).not.toBe(first);
    await page.keyboard.press("+");
    await page.keyboard.press("Shift+ArrowRight");
    await page.keyboard.press("l");
    await page.keyboard.press("0");
    await page.keyboard.press("ArrowLeft");
    expect(await readout.textContent()).toMatch(/frequency [\d.]+ kHz/);
    expect(await page.locator("#spoken").textContent()).toContain("frequency");
    await close();
  });

  it("answer fingers: one pans, two zoom", async () => {
    const { page, close } = await openReport(browser, path("failing"), { width: 390, hasTouch: true, isMobile: true });
    await bringAlive(page);
    const figure = page.locator("#inl-2");
    const over = page.locator("#inl-2 .u-over");
    for (let i = 0; i < 2; i++) await figure.locator('button:text-is("+")').tap();
    await over.scrollIntoViewIfNeeded();
    const box = (await over.boundingBox())!;
    const touch = await page.context().newCDPSession(page);
    const send = (type: "touchStart" | "touchMove" | "touchEnd", xs: readonly number[]) =>
      touch.send("Input.dispatchTouchEvent", {
        type,
        touchPoints: xs.map((x, id) => ({ x: box.x + x, y: box.y + 80, id })),
      });
    /** The code in the middle of the plot, and a tenth of the plot further on. */
    const codes = async (): Promise<[number, number]> => {
      const at = async (share: number): Promise<number> => {
        await page.mouse.move(box.x + box.width * share, box.y + 40);
        const said = (await figure.locator(".readout").textContent()) ?? "";
        return Number(/code ([\d\u202f]+)/.exec(said)![1]!.replace(/\u202f/g, ""));
      };
      return [await at(0.5), await at(0.6)];
    };
    const [middle, further] = await codes();
    await send("touchStart", [150]);
    for (let i = 1; i <= 10; i++) await send("touchMove", [150 - 10 * i]);
    await send("touchEnd", []);
    const [panned] = await codes();
    expect(panned).toBeGreaterThan(middle + 100);
    await send("touchStart", [130, 150]);
    for (let i = 1; i <= 10; i++) await send("touchMove", [130 - 6 * i, 150 + 6 * i]);
    await send("touchEnd", []);
    const [a, b] = await codes();
    expect(b - a).toBeLessThan((further - middle) / 2);
    await close();
  });

  it("are reachable by Tab, and so is every button", async () => {
    const { page, close } = await openReport(browser, path("sixty"));
    await bringAlive(page);
    const wanted = await page.evaluate(() => {
      // Buttons in a closed fold wait until it is opened.
      const all = [...document.querySelectorAll("button, .live-plot, summary, a[href]")].filter((e) =>
        e.checkVisibility(),
      );
      Object.assign(globalThis, { met: new Set<Element>(), all });
      document.addEventListener("focusin", (e) => (globalThis as unknown as { met: Set<unknown> }).met.add(e.target));
      return all.length;
    });
    for (let i = 0; i < wanted + 5; i++) await page.keyboard.press("Tab");
    const missed = await page.evaluate(() => {
      const { met, all } = globalThis as unknown as { met: Set<Element>; all: Element[] };
      return all.filter((e) => !met.has(e)).map((e) => e.outerHTML.slice(0, 120));
    });
    expect(missed).toEqual([]);
    await close();
  });

  it("are saved as PNG and as SVG with title, axes and caption", async () => {
    const { page, complaints, close } = await openReport(browser, path("failing"));
    await bringAlive(page);
    const save = async (name: string): Promise<Buffer> => {
      const waiting = page.waitForEvent("download");
      await page.locator(`#inl-2 button:text-is("${name}")`).click();
      const download = await waiting;
      expect(download.suggestedFilename()).toBe(`inl-2.${name.toLowerCase()}`);
      return readFileSync((await download.path())!);
    };
    const png = await save("PNG");
    // Source: the PNG specification (ISO/IEC 15948): signature, then width and height in the IHDR chunk.
    expect(png.subarray(0, 8).toString("hex")).toBe("89504e470d0a1a0a");
    expect(png.readUInt32BE(16)).toBe(1920);
    expect(png.length).toBeGreaterThan(10_000);
    const svg = (await save("SVG")).toString("utf8");
    for (const text of [
      "INL: ramp (simulated data)",
      "INL in LSB",
      ">code<",
      "where the top bit changes",
      "limit 2 LSB",
    ])
      expect(svg).toContain(text);
    expect(complaints).toEqual([]);
    await close();
  });
});

describe("tables", () => {
  it("are copied as CSV and as Markdown", async () => {
    const { page, close } = await openReport(browser, path("failing"), {
      permissions: ["clipboard-read", "clipboard-write"],
    });
    const copied = async (label: string): Promise<string> => {
      await page.locator(`.verdict button:text-is("${label}")`).click();
      return page.evaluate(() => navigator.clipboard.readText());
    };
    const csv = await copied("copy as CSV");
    expect(csv.split("\n")[0]).toBe("metric,decision,value,±,limit,unit,judged by,what it says");
    expect(csv).toContain("THD,✓ pass,-66.4,+0.5 -1.2,≤ -65,dBc,tone,");
    expect(await copied("copy as Markdown")).toContain(
      "| \\|INL\\| | ✕ fail | 2.70 | 0.15 | ≤ 2 | LSB | ramp | How far",
    );
    await close();
  });
});

describe("without its script", () => {
  it("still shows verdict, numbers, tables and a drawing for every figure", async () => {
    const { page, close } = await openReport(browser, path("failing"), { javaScriptEnabled: false });
    // Text as it is rendered, without what script elements carry.
    const text = await page.evaluate(() => {
      for (const s of document.querySelectorAll("script")) s.remove();
      return document.body.textContent ?? "";
    });
    for (const shown of ["fail", "1 of 3 limits is not met: INL.", "2.70", "10.412", "Simulated data."])
      expect(text).toContain(shown);
    const figures = await page.locator("figure.figure").count();
    expect(figures).toBeGreaterThan(12);
    expect(await page.locator("figure.figure .drawing svg").count()).toBe(figures);
    await close();
  });
});

describe("hostile text", () => {
  it("stays text: nothing of it becomes an element, an attribute or a script", async () => {
    const { page, close } = await openReport(browser, path("hostile"));
    await bringAlive(page);
    const seen = await page.evaluate(() => ({
      images: document.querySelectorAll("img").length,
      scripts: [...document.querySelectorAll("script")].filter((s) => s.type === "").length,
      handlers: [...document.querySelectorAll("*")].filter((e) =>
        [...e.attributes].some((a) => a.name.startsWith("on")),
      ).length,
      links: [...document.querySelectorAll("a")].filter((a) => !a.getAttribute("href")?.startsWith("#")).length,
      result: JSON.parse(document.getElementById("codestair-result")!.textContent!).note,
      heading: document.querySelector("h1")!.textContent,
    }));
    expect(seen).toMatchObject({ images: 0, scripts: 1, handlers: 0, links: 0, result: HOSTILE });
    // The right-to-left override is shown by its code point, so that it cannot turn the text round.
    expect(seen.heading).toBe(HOSTILE.replace("\u202e", "⟨U+202E⟩"));
    await close();
  });
});

describe("on paper", () => {
  it("prints on A4 with every figure whole, page numbers and the hash at the foot", async () => {
    const { page, close } = await openReport(browser, path("failing"));
    await bringAlive(page);
    const pdf = join(folder, "failing.pdf");
    await page.pdf({ path: pdf, preferCSSPageSize: true });
    await close();
    if (!existsSync("/usr/bin/pdftoppm"))
      throw new Error("the print test needs poppler-utils: apt-get install poppler-utils");
    const info = execFileSync("pdfinfo", [pdf], { encoding: "utf8" });
    expect(info).toMatch(/Page size:\s+59[45]\.\d+ x 84[12]/);
    const text = execFileSync("pdftotext", ["-layout", pdf, "-"], { encoding: "utf8" });
    const sheets = text.split("\f").filter((s) => s.trim() !== "");
    expect(sheets.length).toBeGreaterThan(5);
    sheets.forEach((sheet, i) => {
      expect(sheet).toContain("simulated data");
      expect(sheet).toContain("sha256 9f86d081884c7d65");
      expect(sheet).toContain(`${i + 1} / ${sheets.length}`);
    });
    // Folds that carry the method are open on paper.
    expect(text).toContain("what would shrink it");
    execFileSync("pdftoppm", ["-r", "30", "-gray", pdf, join(folder, "sheet")]);
    const images = readdirSync(folder).filter((f) => f.startsWith("sheet"));
    expect(images).toHaveLength(sheets.length);
    for (const image of images) {
      const bytes = readFileSync(join(folder, image));
      const dark = bytes.subarray(20).filter((b) => b < 200).length;
      // Half a per cent of ink is less than one paragraph.
      expect(dark / bytes.length).toBeGreaterThan(0.005);
    }
  });
});
