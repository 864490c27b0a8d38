import { describe, expect, it } from "vitest";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { simulated, sine, spec } from "./simulatedRecord.ts";

/** The record of a tone in which every reading at `places` was logged twice, and its warned findings. */
function logged(frequency: number, places: readonly number[], readings = 4096) {
  const { record } = simulated(spec(sine(frequency)), ["noise=0.6"], { readings: readings + places.length, seed: 11 });
  const twice = new Set(places);
  const codes = Int32Array.from([...record.codes].flatMap((y, n) => (twice.has(n) ? [y, y] : [y])).slice(0, readings));
  return matchRecord({ ...record, codes }).findings.filter((f) => f.severity !== "note");
}
const scattered = (count: number): number[] => {
  const random = seededRandom(3);
  return Array.from({ length: count }, (_, i) => Math.round((4000 * (i + 0.2 + 0.6 * random.uniform())) / count));
};

describe("readings logged twice", () => {
  it.each([97, 449, 1733, 6007])("sixty of them in a tone of %i Hz are told as such, at their places", (frequency) => {
    const places = scattered(60);
    const found = logged(frequency, places);
    expect(found.map((f) => f.id)).toEqual(["readings-repeated"]);
    // Where the tone stands still nobody can say which of two readings is the second.
    const at = places.map((p, i) => p + i + 1);
    const hit = at.filter((n) => found[0]!.readings.some(([first]) => Math.abs(first - n) <= 1));
    expect(hit.length).toBeGreaterThanOrEqual(0.8 * at.length);
  });
  it("are no lost readings, and lost readings are none of them", () => {
    const { record } = simulated(spec(sine(449)), ["noise=0.6", "lost=9"], { readings: 4096, seed: 4 });
    const found = matchRecord(record).findings.filter((f) => f.severity !== "note");
    expect(found.map((f) => f.id)).toEqual(["readings-lost"]);
  });
});
