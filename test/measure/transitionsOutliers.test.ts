import { describe, expect, it } from "vitest";
import { kernels } from "../../lib/kernels/kernels.generated.js";
import { codeBounds } from "../../lib/measure/transitionsOutliers.ts";
import { linearWaveform, sineWaveform } from "../../lib/measure/transitionsWaveform.ts";
import { seededRandom } from "../../lib/signal/random.ts";

const wave = linearWaveform(-10, 1034);

function sample(noise: number, wrong: number) {
  const random = seededRandom(3);
  const positions = Float64Array.from({ length: 2000 }, (_, i) => i / 1999);
  const codes = Int32Array.from(positions, (p, i) => {
    const code = Math.min(1023, Math.max(0, Math.round(wave.at(p) * 1.01 + 3 + noise * random.normal())));
    return wrong > 0 && i % Math.floor(2000 / wrong) === 1 ? code ^ 512 : code;
  });
  return { positions, codes };
}

describe("codeBounds", () => {
  it("hold every reading of noise, gain and offset error, and refuse a wrong high bit", () => {
    const { positions, codes } = sample(2, 8);
    const bounds = codeBounds(positions, codes, 1023, wave)!;
    let refused = 0;
    positions.forEach((p, i) => {
      if (!kernels.isPossible(bounds, p, codes[i]!)) refused++;
    });
    expect(refused).toBe(8);
    // Ten standard deviations, each 2 LSB.
    expect(kernels.isPossible(bounds, 0.5, 517 + 15)).toBe(true);
    expect(kernels.isPossible(bounds, 0.5, 517 + 40)).toBe(false);
  });
  it("codes beyond a rail pass where the rail is expected", () => {
    const { positions, codes } = sample(1, 0);
    const bounds = codeBounds(positions, codes, 1023, wave)!;
    expect(kernels.isPossible(bounds, 1, 1100)).toBe(true);
    expect(kernels.isPossible(bounds, 0, -40)).toBe(true);
    expect(kernels.isPossible(bounds, 0.5, 1100)).toBe(false);
  });
  it("say nothing when codes do not follow the sweep, or are too few", () => {
    const random = seededRandom(9);
    const { positions } = sample(0, 0);
    const scattered = Int32Array.from(positions, () => Math.floor(1024 * random.uniform()));
    // Scattered codes have a scatter so wide that nothing is refused.
    const bounds = codeBounds(positions, scattered, 1023, wave);
    if (bounds !== null) expect(kernels.isPossible(bounds, 0.5, 0)).toBe(true);
    expect(codeBounds(positions.slice(0, 20), scattered.slice(0, 20), 1023, wave)).toBeNull();
    expect(codeBounds(positions, new Int32Array(2000).fill(500), 1023, sineWaveform(512, 600))).toBeNull();
  });
});
