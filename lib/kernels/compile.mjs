// Compiles the kernels (AssemblyScript, a strict TypeScript) to WebAssembly, as one module with its bytes in it that bundlers, tests and tsx load alike.
// `npm run kernels`; `npm ci` and `npm run build` do it by themselves.
import { rename, writeFile } from "node:fs/promises";
import { dirname } from "node:path";
import { fileURLToPath } from "node:url";
import asc from "assemblyscript/asc";

const folder = dirname(fileURLToPath(import.meta.url));
const outputs = new Map();
const { error, stderr } = await asc.main(
  [
    "index.ts",
    "--outFile",
    "kernels.wasm",
    // Glue that takes and gives typed arrays and records, with a module of our own.
    "--bindings",
    "raw",
    // Every call starts with all memory free: nothing to collect.
    "--runtime",
    "stub",
    // V8's own functions, so that a kernel gives to the last digit what the same lines in TypeScript would.
    "--use",
    "Math=JSMath",
    // An index out of bounds ends in a bare trap: with a message to throw, no access to an array is inlined, and each takes three times as long.
    "--use",
    "abort=",
    "--optimizeLevel",
    "3",
    "--baseDir",
    folder,
  ],
  { writeFile: (name, contents) => void outputs.set(name, contents) },
);
if (error) throw new Error(`the kernels do not compile\n${stderr}`);

const before = (text, from, to) => {
  if (!text.includes(from)) throw new Error(`AssemblyScript's glue has changed: no "${from}" in it`);
  return text.replace(from, to);
};
let glue = outputs.get("kernels.js");
// At once rather than by a promise: a module of this size compiles in milliseconds, and a bundle that is one expression cannot await.
glue = before(glue, "export async function instantiate(", "function instantiate(");
glue = before(
  glue,
  "await WebAssembly.instantiate(module, adaptedImports)",
  "new WebAssembly.Instance(module, adaptedImports)",
);
// V8 calls its own functions from a kernel without leaving it, but only where they are imported as they are.
glue = glue.replace(/"(Math\.\w+)"\((.*)\) \{\s*\/\/.*\s*return \1\(\2\);\s*\}/g, '"$1": $1');
if (/return Math\./.test(glue)) throw new Error("AssemblyScript's glue has changed: functions of Math are wrapped");
// The runtime frees nothing by itself, so there is nothing to hold on to; all that a call has allocated, arguments and result, is freed when the next one begins.
glue = before(glue, glue.slice(glue.indexOf("  const refcounts"), glue.indexOf("  function __notnull")), "");
glue = glue
  .replace(/ = __retain\((.*)\);$/gm, " = $1;")
  .replace(/^ *(__release|exports\.__unpin)\(\w+\);\n/gm, "")
  .replace(/exports\.__pin\((exports\.__new\(.*?\))\)/g, "$1")
  .replace(/try \{\n *(.*)\n *\} finally \{\n *\}/g, "$1")
  .replace(/^( {4}\w+\(.*\) \{\n) *\/\/ \w.*\n/gm, "$1      exports.release();\n");
if (/__retain|__release|__pin|__unpin|finally/.test(glue))
  throw new Error("AssemblyScript's glue has changed: it holds");
// An argument whose name begins with "into" is changed for the caller: no new array of its size for each piece of a record.
glue = glue.replace(/^ {4}\w+\(.*\binto.*\) \{\n(?: {6}.*\n)+/gm, (method) => {
  const filled = [...method.matchAll(/^ {6}(into\w*) = (__lowerTypedArray\((\w+), .*\)) \|\| __notnull\(\);$/gm)];
  let text = method;
  for (const [line, name, lower] of filled) text = before(text, line, `      const at_${name} = ${lower};`);
  return text.replace(/^ {6}(return )?(.*\bexports\.(?!release\().*);\n/m, (_, returns, value) => {
    const given = filled.reduce((t, [, name]) => t.replace(new RegExp(`\\b${name}\\b`), `at_${name}`), value);
    const back = filled.map(([, name, , type]) => `      __copyTypedArray(${type}, at_${name}, ${name});\n`).join("");
    return returns ? `      const result = ${given};\n${back}      return result;\n` : `      ${given};\n${back}`;
  });
});
glue = before(
  glue,
  "  function __notnull",
  `  function __copyTypedArray(constructor, pointer, to) {
    to.set(new constructor(memory.buffer, __getU32(pointer + 4), to.length));
  }
  function __notnull`,
);
let types = outputs.get("kernels.d.ts");
types = types.slice(0, types.indexOf("/** Instantiates the compiled"));
await write(
  "kernels.generated.js",
  `${glue}
const base64 = "${Buffer.from(outputs.get("kernels.wasm")).toString("base64")}";
// A browser has no Buffer; Node takes a tenth of the time with it.
const bytes = globalThis.Buffer?.from(base64, "base64") ?? Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
export const kernels = instantiate(new WebAssembly.Module(bytes));
`,
);
await write("kernels.generated.d.ts", `${types}export declare const kernels: typeof __AdaptedExports;\n`);

async function write(name, contents) {
  // Whole or not at all: tests of another process may be reading it.
  await writeFile(`${folder}/${name}.part`, contents);
  await rename(`${folder}/${name}.part`, `${folder}/${name}`);
}
