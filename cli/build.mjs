// Bundles the command, the library and the report page's script. `npm run build`.
import { execFileSync } from "node:child_process";
import { chmod, mkdir, readFile, rename, rm, writeFile } from "node:fs/promises";
import { build } from "esbuild";
import { bundlePage } from "../reports/bundlePage.mjs";

const common = { bundle: true, format: "esm", target: "node20", legalComments: "none", logLevel: "warning" };

// The report page's script and style enter the command as text, in place of the file that bundles them when the sources run unbuilt.
const pageAssets = {
  name: "page assets",
  setup(build) {
    build.onLoad({ filter: /reports[\\/]pageAssets\.ts$/ }, () => {
      const { script, style } = bundlePage();
      return {
        contents: `export const pageScript = ${JSON.stringify(script)};\nexport const pageStyle = ${JSON.stringify(style)};`,
        loader: "js",
      };
    });
  },
};

// Zod's messages in forty languages are never shown: problems have wording of their own. A fifth of the bundle to parse at every start.
const noLocales = {
  name: "no locales",
  setup(build) {
    build.onLoad({ filter: /zod[\\/]v4[\\/]locales[\\/]index\.js$/ }, () => ({ contents: "export {};" }));
  },
};

// Commander starts commands that are programs of their own through it; ours are not, and loading it takes as long as loading commander.
const noChildProcess = {
  name: "no child process",
  setup(build) {
    build.onResolve({ filter: /^node:child_process$/ }, ({ importer }) =>
      /commander[\\/]lib[\\/]/.test(importer) ? { path: "child_process", namespace: "none" } : null,
    );
    build.onLoad({ filter: /.*/, namespace: "none" }, () => ({ contents: "module.exports = {};" }));
  },
};

await rm("dist", { recursive: true, force: true });
// The command is CommonJS, for its start (cli/launch.ts); the library and its types are modules.
for (const [folder, type] of [
  ["dist", "commonjs"],
  ["dist/types", "module"],
]) {
  await mkdir(folder, { recursive: true });
  await writeFile(`${folder}/package.json`, `${JSON.stringify({ type })}\n`);
}
// All of the command as one expression, for loadBundle.ts.
await build({
  ...common,
  entryPoints: ["cli/run.ts"],
  outfile: "dist/command.cjs",
  platform: "node",
  format: "cjs",
  minify: true,
  plugins: [pageAssets, noLocales, noChildProcess],
  supported: { "dynamic-import": false },
  banner: { js: "(function(require,module){" },
  footer: { js: "})" },
});
// esbuild leaves the other characters of tagged templates and patterns; a text of ASCII alone takes half the memory and no decoding.
const command = await readFile("dist/command.cjs", "utf8");
await writeFile(
  "dist/command.cjs",
  command.replace(/[^\x00-\x7f]/g, (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`),
);
// What starts it, and what keeps its bytecode for the next start.
await build({
  ...common,
  entryPoints: ["cli/launch.ts", "cli/keepBytecode.ts"],
  outdir: "dist",
  platform: "node",
  format: "cjs",
  minify: true,
  banner: { js: "#!/usr/bin/env node" },
});
execFileSync(process.execPath, ["dist/keepBytecode.js", "fixtures/boardA.yaml"], { stdio: "inherit" });
await rm("dist/keepBytecode.js");
await rename("dist/launch.js", "dist/codestair.js");
await chmod("dist/codestair.js", 0o755);
await build({
  ...common,
  entryPoints: ["lib/index.ts"],
  outfile: "dist/index.mjs",
  platform: "neutral",
  // An importer brings its own copies of the dependencies; in a browser its bundler does.
  packages: "external",
});
// Types of the library, from the same sources.
execFileSync("node_modules/.bin/tsc", ["--project", "lib/tsconfig.json"], { stdio: "inherit" });
