import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { bytecodeOf, loadBundle } from "./loadBundle.ts";

// Run by the build, in a process of its own: keeps the bundle's bytecode beside it, after a score, so that the functions a score runs are in it.
const [bundlePath, bench] = process.argv.slice(2) as [string, string];
const bundle = pathToFileURL(bundlePath);
const folder = mkdtempSync(join(tmpdir(), "codestair-build-"));
try {
  const { run, bytecode } = loadBundle(bundle);
  await run(["score", bench, "--html", join(folder, "a.html"), "--json", join(folder, "a.json"), "--quiet"]);
  // A verdict is no failure of the build; a bench that cannot be scored is.
  if (process.exitCode === 2) throw new Error(`${bench} could not be scored`);
  writeFileSync(bytecodeOf(bundle), bytecode());
  process.exitCode = 0;
} finally {
  rmSync(folder, { recursive: true, force: true });
}
