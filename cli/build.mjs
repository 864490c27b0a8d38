// Bundles the command, the library and the report page's script. `npm run build`.
import { chmod, rm } from "node:fs/promises";
import { build } from "esbuild";

const common = { bundle: true, format: "esm", target: "node20", legalComments: "none", logLevel: "warning" };

await rm("dist", { recursive: true, force: true });
await build({
  ...common,
  entryPoints: ["cli/codestair.ts"],
  outfile: "dist/codestair.js",
  platform: "node",
  minify: true,
  keepNames: false,
  // Commander and papaparse are CommonJS and may ask for Node's own modules.
  banner: {
    js: '#!/usr/bin/env node\nimport{createRequire as __cr}from"node:module";const require=__cr(import.meta.url);',
  },
});
await chmod("dist/codestair.js", 0o755);
await build({
  ...common,
  entryPoints: ["lib/index.ts"],
  outfile: "dist/index.js",
  platform: "neutral",
  mainFields: ["module", "main"],
});
