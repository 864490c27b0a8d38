import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";
import { setFlagsFromString } from "node:v8";
import { Script } from "node:vm";

/**
 * Bytes of bytecode that run before V8 optimises a loop: seven times its own default. One score walks through a hundred loops once each; optimising them as soon as
 * V8 would takes longer than they run (a quarter of the time of a short record, a tenth at a million readings).
 */
const OPTIMISE_AFTER = 500_000;
/** V8 up to here has that flag (Node 20 to 24); a later one might complain. */
const NEWEST_KNOWN = 13;

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
  // Before the bytecode: it is good for the flags it was made with.
  if (Number.parseInt(process.versions.v8, 10) <= NEWEST_KNOWN)
    setFlagsFromString(`--interrupt-budget=${OPTIMISE_AFTER}`);
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
