export { expectedInversions, inversionSum } from "./inversions";
export { release } from "./memory";
