import type { Browser, BrowserContextOptions, Page } from "playwright-core";

/** A page opened from a file, as from a mail attachment, with all that it did wrong on the way. */
export interface Opened {
  readonly page: Page;
  /** Console errors and warnings, and uncaught exceptions. */
  readonly complaints: string[];
  /** Every request that was no local file and no data in the page. */
  readonly outside: string[];
  close(): Promise<void>;
}

export async function openReport(
  browser: Browser,
  path: string,
  options: BrowserContextOptions & { width?: number } = {},
): Promise<Opened> {
  const { width = 1280, ...rest } = options;
  const context = await browser.newContext({ viewport: { width, height: 900 }, ...rest });
  const page = await context.newPage();
  const complaints: string[] = [];
  const outside: string[] = [];
  page.on("console", (m) => {
    if (m.type() === "error" || m.type() === "warning") complaints.push(m.text());
  });
  page.on("pageerror", (e) => complaints.push(e.message));
  page.on("request", (r) => {
    if (!/^(file|data|blob):/.test(r.url())) outside.push(r.url());
  });
  await page.goto(`file://${path}`);
  return { page, complaints, outside, close: () => context.close() };
}

/** Scrolls from figure to figure until every plot has come alive. */
export async function bringAlive(page: Page): Promise<void> {
  await page.evaluate(async () => {
    for (const figure of document.querySelectorAll("figure.figure")) {
      figure.scrollIntoView();
      while (!figure.classList.contains("live")) await new Promise((done) => requestAnimationFrame(done));
    }
    scrollTo(0, 0);
  });
}
