// Bundles the page script (reports/page/main.ts) and reads the page's style: used by the build and, when the sources run unbuilt, by pageAssets.ts.
import { fileURLToPath } from "node:url";
import { buildSync } from "esbuild";

export function bundlePage() {
  const file = (name) => fileURLToPath(new URL(name, import.meta.url));
  const built = buildSync({
    entryPoints: [file("./page/main.ts")],
    bundle: true,
    write: false,
    format: "iife",
    target: "es2020",
    minify: true,
    legalComments: "none",
    logLevel: "warning",
    charset: "utf8",
  });
  const script = built.outputFiles[0].text.trim();
  // The script stands inside a script element: nothing in it may look like that element's end, or like a comment that would hide the end.
  if (/<\/script|<script|<!--/i.test(script)) throw new Error("the page script holds markup that would end it");
  const style = buildSync({ entryPoints: [file("./page/style.css")], write: false, minify: true, charset: "utf8" });
  return { script, style: style.outputFiles[0].text.trim() };
}
