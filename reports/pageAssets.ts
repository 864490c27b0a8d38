import { bundlePage } from "./bundlePage.mjs";

// The built command has the two texts in place of this file (cli/build.mjs); from the sources they are bundled on first use.
const assets = bundlePage();

/** The page's script: uPlot, the plots' behaviour, saving and copying. */
export const pageScript: string = assets.script;
/** The page's style sheet. */
export const pageStyle: string = assets.style;
