/**
 * V8 optimises code so soon that most of what it optimises in a short run never runs again, on the processor that the run itself needs: its patience (bytecode run before a function
 * is optimised; the same of a kernel) is stretched. Measured: 4,096 readings a tenth faster, a million as fast. Only with the engine that this was measured with; others have
 * other defaults.
 */
export function stretchPatience(): void {
  if (!process.versions.v8.startsWith("11.3.")) return;
  // First, and not by an import, which the bundler drops: Node keeps bytecode of its own modules for its own flags only, and this one, large, is wanted by every run that reads a log.
  require("node:crypto");
  const { setFlagsFromString } = require("node:v8") as typeof import("node:v8");
  setFlagsFromString("--interrupt-budget=1000000");
  setFlagsFromString("--wasm-tiering-budget=6000000");
}
