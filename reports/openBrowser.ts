import { existsSync } from "node:fs";
import { type Browser, chromium } from "playwright-core";

const PLACES = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];

/**
 * Chromium as it is found on this machine, for the page's tests and the gallery; CHROMIUM names another. It calls no one by itself.
 * @throws Error  none is installed
 */
export async function openBrowser(): Promise<Browser> {
  const executablePath = process.env.CHROMIUM ?? PLACES.find((p) => existsSync(p));
  if (executablePath === undefined)
    throw new Error("this needs Chromium: apt-get install chromium, or name another place in CHROMIUM");
  return chromium.launch({
    executablePath,
    args: [
      "--headless",
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}
