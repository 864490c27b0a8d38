import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { chirpZ } from "../../lib/signal/chirpZ.ts";
import { realFft } from "../../lib/signal/fft.ts";
import { fftInterleaved, isPowerOfTwo, nextPowerOfTwo } from "../../lib/signal/powerOfTwoFft.ts";

/** The definition, term by term: too simple to share a fault with the fast ways. */
function slowBins(x: readonly number[]): { re: number[]; im: number[] } {
  const N = x.length;
  const re: number[] = [];
  const im: number[] = [];
  for (let k = 0; k <= N / 2; k++) {
    let a = 0;
    let b = 0;
    x.forEach((v, n) => {
      const angle = (-2 * Math.PI * ((k * n) % N)) / N;
      a += v * Math.cos(angle);
      b += v * Math.sin(angle);
    });
    re.push(a);
    im.push(b);
  }
  return { re, im };
}

describe("realFft", () => {
  it("equals the definition for any length", () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 1, maxLength: 130 }), (x) => {
        const fast = realFft(x);
        const slow = slowBins(x);
        expect(fast.re).toHaveLength(Math.floor(x.length / 2) + 1);
        slow.re.forEach((re, k) => {
          // 130 values of size one: roundings add to about 1e-14.
          expect(Math.abs(fast.re[k]! - re)).toBeLessThan(1e-12);
          expect(Math.abs(fast.im[k]! - slow.im[k]!)).toBeLessThan(1e-12);
        });
      }),
      { seed: 7 },
    );
  });
  it("an impulse has a flat spectrum, for odd and even lengths", () => {
    for (const N of [1, 2, 3, 4, 7, 8, 60, 1000, 1024]) {
      const x = new Float64Array(N);
      x[0] = 1;
      const { re, im } = realFft(x);
      for (let k = 0; k < re.length; k++) {
        expect(re[k]).toBeCloseTo(1, 12);
        expect(im[k]).toBeCloseTo(0, 12);
      }
    }
  });
  it("a cosine of whole cycles lies in one bin, whatever the length", () => {
    for (const N of [60, 73, 1000, 4096]) {
      const { re, im } = realFft(Float64Array.from({ length: N }, (_, n) => Math.cos((2 * Math.PI * 7 * n) / N)));
      re.forEach((r, k) => {
        expect(Math.hypot(r - (k === 7 ? N / 2 : 0), im[k]!)).toBeLessThan(1e-9);
      });
    }
  });
  it("refuses an empty record", () => {
    expect(() => realFft([])).toThrow(RangeError);
  });
});

describe("the complex kernels", () => {
  it("there and back again", () => {
    const data = Float64Array.from({ length: 64 }, (_, i) => Math.sin(i * i));
    fftInterleaved(fftInterleaved(data), true).forEach((v, i) => {
      expect(v).toBeCloseTo(data[i]!, 13);
    });
  });
  it("chirp-z equals the power-of-two transform at a power of two", () => {
    const data = Float64Array.from({ length: 256 }, (_, i) => Math.sin(i * i));
    const direct = fftInterleaved(data);
    chirpZ(data).forEach((v, i) => {
      expect(Math.abs(v - direct[i]!)).toBeLessThan(1e-11);
    });
  });
  it("knows powers of two", () => {
    expect([1, 2, 3, 1024, 1000, 0].map(isPowerOfTwo)).toEqual([true, true, false, true, false, false]);
    expect([0, 1, 3, 1000, 1024].map(nextPowerOfTwo)).toEqual([1, 1, 4, 1024, 1024]);
    expect(() => fftInterleaved(new Float64Array(6))).toThrow(RangeError);
  });
});
