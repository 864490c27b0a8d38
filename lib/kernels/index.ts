export { besideSine, sineValues } from "./alongSine";
export { expectedInversions, inversionSum } from "./inversions";
export { release } from "./memory";
export { normalCdf, normalPdf } from "./normal";
export { countAt, countTable, indexAt, quantile, tableCount, unevenness } from "./positionGrid";
export { freedOfNoise, smearedWaveform } from "./smearedShare";
export { locateTransitions } from "./transitions";
export { waveformAt, waveformBelow, waveformSlope } from "./waveform";
