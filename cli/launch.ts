import { loadBundle } from "./loadBundle.ts";
import { endAtOnce, write } from "./standardStream.ts";
import { VERSION } from "./version.ts";

// What `npm run build` puts at dist/codestair.js: the version at once, everything else from the bundle beside it. It is CommonJS: of an import of Node's own
// modules Node makes a module with all they export, and so loads streams, promises of files and much more at every start.
const args = process.argv.slice(2);
if (args.length === 1 && (args[0] === "--version" || args[0] === "-V")) write(1, `${VERSION}\n`);
else void loadBundle(__dirname).run(args).then(endAtOnce);
