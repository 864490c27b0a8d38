import { expect, it } from "vitest";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitTriangle } from "../../lib/signal/triangleFit.ts";

/** A triangle of known turn and frequency, rounded to whole codes and cut off at the rails of 10 bits. */
function triangle(readings: number, frequency: number, start: number, offset: number, amplitude: number): Int32Array {
  const random = seededRandom(7);
  return Int32Array.from({ length: readings }, (_, n) => {
    const x = frequency * n + start;
    const turn = x - Math.floor(x);
    const w = turn < 0.5 ? 4 * turn - 1 : 3 - 4 * turn;
    return Math.max(0, Math.min(1023, Math.round(offset + amplitude * w + 0.4 * random.normal())));
  });
}

// Closed form. Long records start from the means of blocks, short ones and fast triangles from the readings; the same parameters must come out.
it.each([
  [8000, 3.3 / 8000],
  [400_000, 7.3 / 400_000],
  [400_000, 0.013],
  [400_000, 0.21],
])("finds the triangle of %d readings at %d cycles a reading, its ends on the rails", (readings, frequency) => {
  const codes = triangle(readings, frequency, 0.37, 515, 530);
  // Turn and frequency of white noise of 0.5 LSB: √(12/M)·σ/(4·amplitude) over the record, ten times over as the fit takes a part of long ones.
  const tolerance = (10 * Math.sqrt(12 / readings) * 0.5) / (4 * 530);
  for (const known of [frequency, null]) {
    const fit = fitTriangle(codes, 1023, 0, readings - 1, known);
    expect(Math.abs((fit?.frequency ?? 0) - frequency) * readings).toBeLessThan(tolerance);
    expect(Math.abs((fit?.start ?? 0) - 0.37)).toBeLessThan(tolerance);
    // 10·σ/√M codes, and ten times that for the rails' pull on the outermost codes.
    expect(Math.abs((fit?.amplitude ?? 0) - 530)).toBeLessThan(100 * (0.5 / Math.sqrt(readings)));
    expect(Math.abs((fit?.offset ?? 0) - 515)).toBeLessThan(100 * (0.5 / Math.sqrt(readings)));
  }
});
