import { execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Browser } from "playwright-core";
import { openBrowser } from "./openBrowser.ts";

/**
 * Photographs the demo's report, from the current build, for the README: `npm run gallery`. The pictures are those of the simulated boards, and each
 * shows that mark where the page does.
 */
const ROOT = fileURLToPath(new URL("..", import.meta.url));
const GALLERY = join(ROOT, "reports", "gallery");

interface Picture {
  readonly file: string;
  readonly board: "boardA" | "boardB";
  /** What stands at the top of the picture; null: the page's own top. */
  readonly from: string | null;
  readonly width: number;
  readonly height: number;
  readonly dark?: boolean;
}

const PICTURES: readonly Picture[] = [
  { file: "report-desktop.png", board: "boardB", from: null, width: 1120, height: 860 },
  { file: "straight.png", board: "boardB", from: "#inl-2", width: 1120, height: 900 },
  { file: "clean.png", board: "boardA", from: "#spectrum-1", width: 1120, height: 560 },
  { file: "quiet-dark.png", board: "boardB", from: "#steady-4", width: 1120, height: 560, dark: true },
  { file: "phone.png", board: "boardA", from: null, width: 390, height: 844 },
];

async function photograph(browser: Browser, picture: Picture, report: string): Promise<void> {
  const context = await browser.newContext({
    viewport: { width: picture.width, height: picture.height },
    colorScheme: picture.dark ? "dark" : "light",
  });
  const page = await context.newPage();
  await page.goto(`file://${report}`);
  if (picture.from !== null) {
    await page.locator(picture.from).evaluate((element) => element.scrollIntoView({ block: "start" }));
    await page.locator(`${picture.from}.live`).waitFor();
    // Plots that come alive above may move the place.
    await page.waitForTimeout(300);
    await page.locator(picture.from).evaluate((element) => element.scrollIntoView({ block: "start" }));
  }
  await page.waitForTimeout(300);
  await page.screenshot({ path: join(GALLERY, picture.file) });
  await context.close();
}

const folder = mkdtempSync(join(tmpdir(), "codestair-gallery-"));
const browser = await openBrowser();
try {
  mkdirSync(GALLERY, { recursive: true });
  for (const board of ["boardA", "boardB"]) {
    const command = [join(ROOT, "dist", "codestair.js"), "score", join(ROOT, "fixtures", `${board}.yaml`)];
    // Board B fails its limits, and its exit status says so.
    try {
      execFileSync(process.execPath, [...command, "--quiet", "--html", join(folder, `${board}.html`)]);
    } catch (error) {
      if ((error as { status?: number }).status === 2) throw error;
    }
  }
  for (const picture of PICTURES) {
    await photograph(browser, picture, join(folder, `${picture.board}.html`));
    console.log(`reports/gallery/${picture.file}`);
  }
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
}
