import { expect, it } from "vitest";
import { analyseTone } from "../../lib/measure/toneAnalysis.ts";
import { measureDistortion } from "../../lib/measure/toneHarmonicTable.ts";
import { toneSpectrum } from "../../lib/measure/toneSpectrum.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";

it("a harmonic in noise twice the record's median noise is given twice the noise, however small the numbers", () => {
  const random = seededRandom(8);
  // 401 cycles in 4096 readings.
  const codes = Int32Array.from({ length: 4096 }, (_, n) =>
    Math.round(2048 + 1900 * Math.cos((2 * Math.PI * 401 * n) / 4096) + 0.7 * random.normal()),
  );
  const analysis = analyseTone(codes, fitSine(codes)!);
  const spectrum = toneSpectrum(codes, analysis);
  const bins = spectrum.floor.length;
  const flat = measureDistortion(analysis, { ...spectrum, floor: new Float64Array(bins).fill(1e-5) })!;
  // Median 1e-5: 45 % of bins lie below it and 35 % above. As text, 9e-7 would come last.
  const floor = Float64Array.from({ length: bins }, (_, k) => {
    const share = ((k * 7919) % bins) / bins;
    return share < 0.45 ? 9e-7 : share < 0.65 ? 1e-5 : 1e-4;
  });
  const second = Math.round(flat.harmonics[0]!.line.frequency * spectrum.length);
  floor[second] = 2e-5;
  const uneven = measureDistortion(analysis, { ...spectrum, floor })!;
  // A coherent record: nothing leaks into the line, so that its noise is all its own.
  expect(uneven.harmonics[0]!.noise / flat.harmonics[0]!.noise).toBeCloseTo(2, 6);
});
