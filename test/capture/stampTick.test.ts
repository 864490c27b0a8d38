import { describe, expect, it } from "vitest";
import { stampTick } from "../../lib/capture/stampTick.ts";
import { seededRandom } from "../../lib/signal/random.ts";

const US = 1e-6;
/** Stamps of an even clock of `period` that a counter of `tick` shows, printed in whole microseconds; all in µs. */
const stamps = (period: number, tick: number, readings = 2000, late: (n: number) => number = () => 0) =>
  Float64Array.from(
    { length: readings },
    (_, n) => Math.floor(Math.floor((n * period + 3.7 + late(n)) / tick) * tick + 1e-6) * US,
  );

describe("the tick of a clock", () => {
  // By construction. A 32.768 kHz counter's tick is 30.5176 µs, printed as 30 or 31.
  it.each([
    [125, 4],
    [1000.02, 4],
    [20.8333, 4],
    [5, 4],
    [6.3, 4],
    [1, 4],
    [0.7, 8],
    [500, 1000],
    [4.0004, 8],
    [3333.4, 1000],
    [105.3, 8],
    [1000, 30.517578125],
    [1010, 100 / 3],
  ])("a reading every %d µs, counted in %d µs", (period, tick) => {
    expect(Math.abs(stampTick(stamps(period, tick), US) / US - tick)).toBeLessThan(0.6);
  });
  it("a power of two is seen although stamps come late now and then", () => {
    const random = seededRandom(5);
    const late = stamps(125, 4, 2000, () => Math.abs(random.normal()));
    expect(stampTick(late, US)).toBeCloseTo(4 * US, 12);
  });
  it("is seen where a reading takes just one, and one that comes late shares its stamp with the next", () => {
    const random = seededRandom(7);
    expect(
      stampTick(
        stamps(8.0008, 8, 8000, () => 0.03 * Math.abs(random.normal())),
        US,
      ),
    ).toBeCloseTo(8 * US, 12);
  });
  it("is no line printed twice", () => {
    const once = stamps(20, 1, 2000);
    const twice = Float64Array.from(
      { length: 2000 },
      (_, n) => once[n - [300, 310, 320, 900].filter((at) => at <= n).length]!,
    );
    expect(stampTick(twice, US)).toBe(US);
  });
  it("is the last digit where the stamps show nothing coarser", () => {
    for (const period of [1000, 20, 20.8333, 1.3, 2.5, 9.6]) expect(stampTick(stamps(period, 1), US)).toBe(US);
  });
  it("is no late, lost or scattered reading", () => {
    const random = seededRandom(6);
    for (const period of [20, 125, 1000, 1000.02]) {
      for (const share of [0.1, 0.25, 0.3, 0.5])
        expect(
          stampTick(
            stamps(period, 1, 2000, (n) => (n % 10 === 9 ? share * period : 0)),
            US,
          ) / US,
          `late ${share} of ${period}`,
        ).toBeLessThan(0.07 * period);
      expect(
        stampTick(
          stamps(period, 1, 2000, (n) => period * Math.floor(n / 300)),
          US,
        ) / US,
        `lost at ${period}`,
      ).toBeLessThan(0.07 * period);
      expect(
        stampTick(
          stamps(period, 1, 2000, () => 0.05 * period * random.normal()),
          US,
        ) / US,
        `jitter at ${period}`,
      ).toBeLessThan(0.07 * period);
      // Pauses of a third of a period that are not made up for, after 100, 300, 700 and 750 readings.
      let away = 0;
      expect(
        stampTick(
          stamps(period, 1, 2000, (n) => (away += [100, 300, 700, 750].includes(n) ? period / 3 : 0)),
          US,
        ) / US,
        `pauses at ${period}`,
      ).toBeLessThan(0.07 * period);
    }
  });
});
