export { besideSine, sineValues } from "./alongSine";
export { expectedInversions, inversionSum } from "./inversions";
export { release } from "./memory";
export { normalCdf, normalPdf } from "./normal";
