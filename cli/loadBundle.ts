import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Script } from "node:vm";
import { stretchPatience } from "./stretchPatience.ts";

export interface Bundle {
  run(args: readonly string[]): Promise<void>;
  /** Bytecode of all that was compiled so far. */
  bytecode(): Buffer;
}

/** Where the bytecode of the bundle in a folder lies. */
export function bytecodeIn(folder: string): string {
  return join(folder, "command.bytecode");
}

/**
 * Loads the bundled command of a folder, an expression that is a function of `require` and `module`. The bytecode that the build kept beside it spares compiling
 * a megabyte at every start; V8 refuses it where its version or flags differ, and compiles.
 */
export function loadBundle(folder: string): Bundle {
  stretchPatience();
  let cachedData: Buffer | undefined;
  try {
    cachedData = readFileSync(bytecodeIn(folder));
  } catch {
    // Without it the start only takes longer.
  }
  const filename = join(folder, "command.cjs");
  // ASCII, by the build: latin1 spares decoding.
  const script = new Script(readFileSync(filename, "latin1"), { filename, cachedData });
  const module = { exports: {} as Pick<Bundle, "run"> };
  script.runInThisContext()(require, module);
  return { run: module.exports.run, bytecode: () => script.createCachedData() };
}
