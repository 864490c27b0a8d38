/**
 * Cosine-sum windows: w[n] = Σ (−1)ᵏ·c[k]·cos(2πkn/N), n = 0…N−1 (periodic form), and how far the main lobe reaches, in bins to either
 * side.
 * Sources: Harris, "On the use of windows for harmonic analysis with the discrete Fourier transform", Proc. IEEE 66(1), 1978 (rectangular,
 * Hann, 4-term
 * Blackman-Harris, −92 dB); Heinzel, Rüdiger and Schilling, "Spectrum and spectral density estimation by the discrete Fourier transform",
 * Max-Planck-Institut
 * für Gravitationsphysik, 2002 (HFT144D, −144 dB).
 */
export const WINDOWS = {
  rectangular: { coefficients: [1], lobe: 1 },
  Hann: { coefficients: [0.5, 0.5], lobe: 2 },
  "Blackman-Harris": { coefficients: [0.35875, 0.48829, 0.14128, 0.01168], lobe: 4 },
  HFT144D: {
    coefficients: [1, 1.96760033, 1.57983607, 0.81123644, 0.22583558, 0.02773848, 0.0009036],
    lobe: 7,
  },
} as const satisfies Record<string, { readonly coefficients: readonly number[]; readonly lobe: number }>;

export type WindowName = keyof typeof WINDOWS;
