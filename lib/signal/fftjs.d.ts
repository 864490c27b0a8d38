declare module "fft.js" {
  /** Complex FFT of a power-of-two size over interleaved arrays [re0, im0, re1, im1, …]. */
  export default class FFT {
    constructor(size: number);
    transform(out: Float64Array, data: Float64Array): void;
    inverseTransform(out: Float64Array, data: Float64Array): void;
  }
}
