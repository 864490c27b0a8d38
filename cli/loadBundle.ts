import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";
import { Script } from "node:vm";

export interface Bundle {
  run(args: readonly string[]): Promise<void>;
  /** Bytecode of all that was compiled so far. */
  bytecode(): Buffer;
}

/** Where the bytecode of a bundle lies. */
export function bytecodeOf(bundle: URL): URL {
  return new URL("./command.bytecode", bundle);
}

/**
 * Loads the bundled command, an expression that is a function of `require` and `module`. The bytecode that the build kept beside it spares compiling a megabyte
 * at every start; V8 refuses it where its version or flags differ, and compiles.
 */
export function loadBundle(bundle: URL): Bundle {
  let cachedData: Buffer | undefined;
  try {
    cachedData = readFileSync(bytecodeOf(bundle));
  } catch {
    // Without it the start only takes longer.
  }
  // ASCII, by the build: latin1 spares decoding.
  const script = new Script(readFileSync(bundle, "latin1"), { filename: fileURLToPath(bundle), cachedData });
  const module = { exports: {} as Pick<Bundle, "run"> };
  script.runInThisContext()(createRequire(bundle), module);
  return { run: module.exports.run, bytecode: () => script.createCachedData() };
}
