import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { bytecodeIn, loadBundle } from "./loadBundle.ts";

// Run by the build, in a process of its own: keeps the bytecode of the bundle in its folder, after a score, so that the functions a score runs are in it.
const [bench] = process.argv.slice(2) as [string];
const folder = mkdtempSync(join(tmpdir(), "codestair-build-"));
const { run, bytecode } = loadBundle(__dirname);
run(["score", bench, "--html", join(folder, "a.html"), "--json", join(folder, "a.json"), "--quiet"])
  .then(() => {
    // A verdict is no failure of the build; a bench that cannot be scored is.
    if (process.exitCode === 2) throw new Error(`${bench} could not be scored`);
    writeFileSync(bytecodeIn(__dirname), bytecode());
    process.exitCode = 0;
  })
  .finally(() => rmSync(folder, { recursive: true, force: true }));
