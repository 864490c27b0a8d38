import { loadBundle } from "./loadBundle.ts";
import { VERSION } from "./version.ts";

// What `npm run build` puts at dist/codestair.js: the version at once, everything else from the bundle beside it.
const args = process.argv.slice(2);
if (args.length === 1 && (args[0] === "--version" || args[0] === "-V")) process.stdout.write(`${VERSION}\n`);
else await loadBundle(new URL("./command.cjs", import.meta.url)).run(args);
