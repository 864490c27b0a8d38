/** Names of the metrics, in the order reports list them (DESIGN §5). */
export const METRIC_NAMES = [
  "offsetError",
  "offsetAtLow",
  "gainError",
  "inlMax",
  "inlMin",
  "dnlMax",
  "dnlMin",
  "missingCodes",
  "totalUnadjustedError",
  "hysteresis",
  "enob",
  "enobAtLevel",
  "sinad",
  "snr",
  "thd",
  "sfdr",
  "signalLevel",
  "noiseFloor",
  "noiseRms",
  "codeRms",
  "noisePeakToPeak",
  "effectiveResolution",
  "noiseFreeBits",
  "meanCode",
  "drift",
  "crosstalk",
] as const;

export type MetricName = (typeof METRIC_NAMES)[number];

export interface MetricEntry {
  readonly unit: string;
  /** What the number says, in one line, for the page and --help. */
  readonly sentence: string;
  readonly formula: string;
  readonly source: string;
  /** Which way is worse: "low" (enob), "high" (thd, noise), "magnitude" (offset, INL), or null where neither is (mean code). */
  readonly worse: "low" | "high" | "magnitude" | null;
}

const IEEE = "IEEE Std 1241-2010";

/** One entry a metric: add a metric here, its function in lib/measure/, its test. */
export const METRICS: Readonly<Record<MetricName, MetricEntry>> = {
  offsetError: {
    unit: "LSB",
    sentence: "How far the converter reads high at 0 V input (mid-scale of a bipolar range).",
    formula: "Vos/Q, from G·T[k] + Vos + ε[k] = ideal T[k]",
    source: `${IEEE}, gain and offset`,
    worse: "magnitude",
  },
  offsetAtLow: {
    unit: "LSB",
    sentence: "How far the converter reads high at the bottom of its range, by its first transition.",
    formula: "(ideal T[1] − T[1])/Q",
    source: "common practice of microcontroller data sheets",
    worse: "magnitude",
  },
  gainError: {
    unit: "%",
    sentence: "How much too steep the converter's line is; positive when it reads high at the top.",
    formula: "100·(G − 1)",
    source: `${IEEE}, gain and offset`,
    worse: "magnitude",
  },
  inlMax: {
    unit: "LSB",
    sentence: "Largest INL: the transition that sits furthest too high. There the converter reads LOW.",
    formula: "max INL[k], INL[k] = −ε[k]/Q",
    source: `${IEEE}, integral nonlinearity`,
    worse: "high",
  },
  inlMin: {
    unit: "LSB",
    sentence: "Smallest INL: the transition that sits furthest too low. There the converter reads HIGH.",
    formula: "min INL[k], INL[k] = −ε[k]/Q",
    source: `${IEEE}, integral nonlinearity`,
    worse: "low",
  },
  dnlMax: {
    unit: "LSB",
    sentence: "The widest code's excess width.",
    formula: "max DNL[k], DNL[k] = G·(T[k+1] − T[k])/Q − 1",
    source: `${IEEE}, differential nonlinearity`,
    worse: "high",
  },
  dnlMin: {
    unit: "LSB",
    sentence: "The narrowest code's missing width; −1 is a code that never comes.",
    formula: "min DNL[k], DNL[k] = G·(T[k+1] − T[k])/Q − 1",
    source: `${IEEE}, differential nonlinearity`,
    worse: "low",
  },
  missingCodes: {
    unit: "codes",
    sentence: "Codes that never come although the input passed over them.",
    formula: "count of DNL[k] ≤ −0.9, where the record is long enough to tell",
    source: `${IEEE}, missing codes`,
    worse: "high",
  },
  totalUnadjustedError: {
    unit: "LSB",
    sentence: "Largest error of any transition with nothing corrected: offset, gain and INL together.",
    formula: "max |T[k] − ideal T[k]|/Q",
    source: "common practice of microcontroller data sheets",
    worse: "high",
  },
  hysteresis: {
    unit: "LSB",
    sentence: "Largest difference between the same point reached from below and from above.",
    formula: "max |T_rising[k] − T_falling[k]|/Q, or the same of step means",
    source: `${IEEE}, hysteresis`,
    worse: "high",
  },
  enob: {
    unit: "bit",
    sentence: "Effective number of bits: the ideal converter whose quantisation noise alone equals what was measured.",
    formula: "log2(FSR/(NAD·√12))",
    source: `${IEEE}, effective number of bits`,
    worse: "low",
  },
  enobAtLevel: {
    unit: "bit",
    sentence: "Effective bits by the SINAD of this tone at the level it had, lower than ENOB for a small tone.",
    formula: "(SINAD − 10·log10 1.5)/(20·log10 2)",
    source: "common practice",
    worse: "low",
  },
  sinad: {
    unit: "dB",
    sentence: "Signal to noise and distortion together.",
    formula: "10·log10((A²/2)/NAD²), NAD² = RSS/(M − p)",
    source: `${IEEE}, signal-to-noise-and-distortion ratio`,
    worse: "low",
  },
  snr: {
    unit: "dB",
    sentence: "Signal to noise, with DC and harmonics 2 to 10 left out.",
    formula: "10·log10((A²/2)/noise²)",
    source: `${IEEE}, signal-to-noise ratio`,
    worse: "low",
  },
  thd: {
    unit: "dBc",
    sentence: "Total harmonic distortion, harmonics 2 to 10 against the tone; more negative is cleaner.",
    formula: "10·log10(Σ P_h/P_1), h = 2…10, freed of the noise in their bins",
    source: `${IEEE}, total harmonic distortion`,
    worse: "high",
  },
  sfdr: {
    unit: "dBc",
    sentence: "Spurious-free dynamic range: the tone against the largest other line.",
    formula: "10·log10(P_1/P_spur)",
    source: `${IEEE}, spurious-free dynamic range`,
    worse: "low",
  },
  signalLevel: {
    unit: "dBFS",
    sentence: "Level of the tone; 0 dBFS is a sine that spans the full-scale range.",
    formula: "20·log10(2A/FSR)",
    source: "common practice",
    worse: null,
  },
  noiseFloor: {
    unit: "dBFS/Hz",
    sentence: "Noise density of the tone record, harmonics left out.",
    formula: "10·log10(noise²/(FSR²/8)/(fs/2))",
    source: "common practice",
    worse: "high",
  },
  noiseRms: {
    unit: "LSB",
    sentence: "Input-referred noise (one standard deviation), quantisation taken out, about the drift line.",
    formula: "σ of the Gaussian that explains the code counts",
    source: "grouped maximum likelihood; Sheppard 1898 where the noise spans many codes",
    worse: "high",
  },
  codeRms: {
    unit: "LSB",
    sentence: "Plain standard deviation of the logged codes, quantisation included.",
    formula: "√(Σ(y − ȳ)²/(M − 1))",
    source: "common practice",
    worse: "high",
  },
  noisePeakToPeak: {
    unit: "LSB",
    sentence: "Largest minus smallest code of this record; grows with its length.",
    formula: "max y − min y",
    source: "common practice",
    worse: "high",
  },
  effectiveResolution: {
    unit: "bit",
    sentence: "Resolution against the noise's standard deviation, at most N.",
    formula: "log2(2^N/σ)",
    source: "common practice of converter data sheets",
    worse: "low",
  },
  noiseFreeBits: {
    unit: "bit",
    sentence: "Bits that do not flicker: resolution against 6.6 standard deviations, at most N.",
    formula: "log2(2^N/(6.6·σ))",
    source: "common practice of converter data sheets",
    worse: "low",
  },
  meanCode: {
    unit: "LSB",
    sentence: "Mean of the logged codes at a steady input.",
    formula: "ȳ",
    source: "common practice",
    worse: null,
  },
  drift: {
    unit: "LSB/s",
    sentence: "Slope of the readings over time at a steady input.",
    formula: "least-squares slope of y on time",
    source: "common practice",
    worse: "magnitude",
  },
  crosstalk: {
    unit: "dB",
    sentence: "What a tone on one channel leaves on its neighbour, at the tone's frequency.",
    formula: "20·log10(A_neighbour/A_tone)",
    source: "common practice",
    worse: "high",
  },
};
