/**
 * Cosine-sum windows: w[n] = Σ (−1)ᵏ·c[k]·cos(2πkn/N), n = 0…N−1 (periodic form), and how far their main lobe reaches, in bins to either side.
 * Sources: rectangular, Hann, Hamming, 4-term Blackman-Harris: Harris, "On the use of windows for harmonic analysis with the discrete Fourier transform",
 * Proc. IEEE 66(1), 1978. Nuttall: "Some windows with very good sidelobe behavior", IEEE T-ASSP 29(1), 1981. HFT…: Heinzel, Rüdiger and Schilling,
 * "Spectrum and spectral density estimation by the discrete Fourier transform", Max-Planck-Institut für Gravitationsphysik, 2002.
 */
export const WINDOWS = {
  rectangular: { coefficients: [1], lobe: 1 },
  Hann: { coefficients: [0.5, 0.5], lobe: 2 },
  Hamming: { coefficients: [0.54, 0.46], lobe: 2 },
  "Blackman-Harris": { coefficients: [0.35875, 0.48829, 0.14128, 0.01168], lobe: 4 },
  Nuttall: { coefficients: [0.3635819, 0.4891775, 0.1365995, 0.0106411], lobe: 4 },
  HFT70: { coefficients: [1, 1.90796, 1.07349, 0.18199], lobe: 4 },
  HFT95: { coefficients: [1, 1.9383379, 1.3045202, 0.402827, 0.0350665], lobe: 5 },
  HFT144D: {
    coefficients: [1, 1.96760033, 1.57983607, 0.81123644, 0.22583558, 0.02773848, 0.0009036],
    lobe: 7,
  },
  HFT169D: {
    coefficients: [1, 1.97441843, 1.65409889, 0.95788187, 0.3367342, 0.06364622, 0.00521942, 0.00010599],
    lobe: 8,
  },
} as const satisfies Record<string, { readonly coefficients: readonly number[]; readonly lobe: number }>;

export type WindowName = keyof typeof WINDOWS;
