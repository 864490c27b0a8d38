import { describe, expect, it } from "vitest";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { converter, simulated, sine, spec } from "./simulatedRecord.ts";

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
  it("are no curve of the converter that a slow tone passes once a cycle (simulated: nothing was logged twice)", () => {
    const slow = {
      ...spec(sine(0.07193012433379747, 1.281817554290974, 1.250926018158528), { sampleRate: 100 }),
      converter: converter({ coding: "offset-binary", container: 20, firstTransition: 1 }),
    };
    const curve = ["converter-offset=1.3772561945396897", "converter-gain=0.1278011746963531", "dnl=0.02"];
    const bends = ["bow=2.5801546531376642", "s-curve=-0.5971876579890758", "crosstalk=-200"];
    const { record } = simulated(slow, ["noise=0.05", ...curve, ...bends], {
      readings: 3572,
      seed: 31415 * 100_003 + 566,
      converterSeed: 567,
      time: true,
      resolution: 1e-6,
    });
    expect(matchRecord(record).findings.filter((f) => f.severity !== "note")).toEqual([]);
  });
});
