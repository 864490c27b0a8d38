import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { realFft } from "../../lib/signal/fft.ts";
import { pairSpectrum, segmentStarts } from "../../lib/signal/spectrum.ts";
import { windowOf } from "../../lib/signal/window.ts";
import type { WindowName } from "../../lib/signal/windowTable.ts";

const read = (name: string) => JSON.parse(readFileSync(new URL(`./data/${name}.json`, import.meta.url), "utf8"));

/** Numbers in 0…1 that every machine can make again. Source: Riley, "Handbook of Frequency Stability Analysis", NIST SP 1065, 2008, 12.4. */
function lcg(count: number): Float64Array {
  const values = new Float64Array(count);
  let n = 1234567890;
  for (let i = 0; i < count; i++) {
    values[i] = n / 2147483647;
    n = (16807 * n) % 2147483647;
  }
  return values;
}

describe("transform of any length against numpy.fft 2.4.6 (fft.json)", () => {
  for (const { N, bins, re, im, sum_abs2 } of read("fft").cases) {
    it(`${N} readings`, () => {
      const X = realFft(lcg(N).map((v) => v - 0.5));
      bins.forEach((bin: number, i: number) => {
        if (bin > N / 2) return;
        // The file's own tolerance, 1e-11 absolute: about a thousand roundings of values near one.
        expect(Math.abs(X.re[bin]! - re[i])).toBeLessThan(1e-11);
        expect(Math.abs(X.im[bin]! - im[i])).toBeLessThan(1e-11);
      });
      let power = 0;
      X.re.forEach((r, k) => {
        power += (k === 0 || 2 * k === N ? 1 : 2) * (r * r + X.im[k]! ** 2);
      });
      expect(Math.abs(power / sum_abs2 - 1)).toBeLessThan(1e-12);
    });
  }
});

describe("windows against scipy.signal.get_window 1.17.1, periodic (windows.json)", () => {
  const names: Partial<Record<WindowName, string>> = {
    rectangular: "boxcar",
    Hann: "hann",
    "Blackman-Harris": "blackmanharris",
    HFT144D: "HFT144D",
  };
  for (const [name, theirs] of Object.entries(names)) {
    it(name, () => {
      const expected = read("windows").windows[theirs];
      const window = windowOf(name as WindowName, 16);
      expected.N16.forEach((w: number, n: number) => {
        expect(Math.abs(window.values[n]! - w)).toBeLessThan(theirs.startsWith("HFT") ? 1e-9 : 1e-12);
      });
      expect(Math.abs(window.noiseBandwidth / expected.enbw16 - 1)).toBeLessThan(1e-9);
    });
  }
});

/**
 * Published figures. Source: Harris, "On the use of windows for harmonic analysis with the DFT", Proc. IEEE 66(1), 1978, table 1 (NENBW 1.50, 2.00; scallop 1.42,
 * 0.83; side lobes −32, −92); Heinzel, Rüdiger and Schilling, MPI 2002 (HFT144D: NENBW 4.5386, −144.1 dB, 0.0021 dB); to all digits: recomputed at 40 digits.
 */
describe("windows against the published table", () => {
  const table: [WindowName, number, number, number][] = [
    ["rectangular", 1, -13.26, 3.9224],
    ["Hann", 1.5, -31.47, 1.4236],
    ["Blackman-Harris", 2.0044, -92.01, 0.8256],
    ["HFT144D", 4.5386, -144.05, 0.0021],
  ];
  const length = 4096;
  /** |W| at a distance of `bins` from the line, against its height on the bin. */
  const response = (values: Float64Array, bins: number): number => {
    let re = 0;
    let im = 0;
    let sum = 0;
    values.forEach((w, n) => {
      const angle = (2 * Math.PI * bins * n) / length;
      re += w * Math.cos(angle);
      im += w * Math.sin(angle);
      sum += w;
    });
    return 20 * Math.log10(Math.hypot(re, im) / sum);
  };
  for (const [name, noiseBandwidth, sideLobe, scallop] of table) {
    it(`${name}: bandwidth, scalloping, highest side lobe`, () => {
      const window = windowOf(name, length);
      expect(window.noiseBandwidth).toBeCloseTo(noiseBandwidth, 4);
      expect(Math.abs(response(window.values, 0.5))).toBeCloseTo(scallop, 3);
      let highest = Number.NEGATIVE_INFINITY;
      for (let bins = window.lobe; bins < window.lobe + 8; bins += 0.05)
        highest = Math.max(highest, response(window.values, bins));
      // Table: 0.05 dB. A side lobe's top lies within 0.025 bin of a point looked at, which costs less than that.
      expect(Math.abs(highest - sideLobe)).toBeLessThan(0.06);
    });
  }
  it("the periodic Hann window of 16 readings has 1.5 bins; the symmetric one would have 1.6", () => {
    expect(windowOf("Hann", 16).noiseBandwidth).toBeCloseTo(1.5, 12);
  });
});

describe("averaged spectrum against scipy.signal.welch 1.17.1 (welch.json)", () => {
  it("Hann, 256 readings, overlap 128, mean of each segment taken off", () => {
    const expected = read("welch");
    const x = lcg(4096).map((v) => v - 0.5);
    const length = 256;
    const starts = segmentStarts(4096, length, 1000);
    expect(starts).toEqual(Array.from({ length: 31 }, (_, i) => 128 * i));
    const window = windowOf("Hann", length);
    const pack = (start: number, pair: Float64Array): void => {
      const part = x.subarray(start, start + length);
      const mean = part.reduce((a, b) => a + b, 0) / length;
      for (let n = 0; n < length; n++) {
        pair[2 * n] = (part[n]! - mean) * window.values[n]!;
        pair[2 * n + 1] = 2 * (part[n]! - mean) * window.values[n]!;
      }
    };
    const { first, second } = pairSpectrum(pack, starts, length, [window, window]);
    expected.psd.forEach((psd: number, k: number) => {
      const got = (first[k]! * length) / (1000 * window.noiseBandwidth);
      expect(Math.abs(got / psd - 1)).toBeLessThan(1e-9);
      // The second signal is twice the first: a packed transform must keep them apart.
      expect(Math.abs(second[k]! / (4 * first[k]!) - 1)).toBeLessThan(1e-9);
    });
  });
});
