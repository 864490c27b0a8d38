import { describe, expect, it } from "vitest";
import type { Stimulus } from "../../lib/bench/bench.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { LEVEL, simulated, sine, spec } from "./simulatedRecord.ts";

const READINGS = 60;
const CYCLES = 0.0917;
const RATE = 50_000;

/** Which source reading each logged one is: some missing before places in the log. */
const losing =
  (...losses: readonly (readonly [at: number, missing: number])[]) =>
  (n: number): number =>
    n + losses.reduce((sum, [at, missing]) => sum + (n >= at ? missing : 0), 0);

/** Findings of codes that this test makes itself, 12 bits. */
function found(stimulus: Stimulus, value: (n: number) => number, index: (n: number) => number, noise = 0.5) {
  const random = seededRandom(5);
  // A reading that is logged again is the same word.
  const words = new Map<number, number>();
  const codes = Int32Array.from({ length: READINGS }, (_, n) => {
    const i = index(n);
    const word = words.get(i) ?? Math.max(0, Math.min(4095, Math.round(value(i) + noise * random.normal())));
    words.set(i, word);
    return word;
  });
  const { record } = simulated(spec(stimulus), [], { readings: READINGS });
  return matchRecord({ ...record, codes }).findings.filter((f) => f.severity === "error");
}

describe("a sine of sixty readings", () => {
  const tone = (index: (n: number) => number) =>
    found(sine(CYCLES * RATE), (n) => 2048 + 1966 * Math.cos(2 * Math.PI * CYCLES * n + 0.4), index);

  it("shows four losses together, each hidden by the others", () => {
    const places = [11, 23, 33, 44] as const;
    const [finding, ...others] = tone(losing([11, 5], [23, 4], [33, 2], [44, 3]));
    expect(others).toEqual([]);
    expect(finding?.id).toBe("readings-lost");
    expect(finding?.readings.map(([, last]) => last)).toEqual(places);
    expect(finding?.text).toContain("5 readings are missing");
  });
  it("a reading logged twice is a repetition, not a loss of nearly a period", () => {
    const findings = tone((n) => (n >= 27 ? n - 1 : n));
    expect(findings.map((f) => f.id)).toEqual(["readings-repeated"]);
    expect(findings[0]!.readings).toEqual([[27, 27]]);
  });
  it("a buffer sent again in place of the next", () => {
    const findings = tone((n) => (n >= 24 && n < 32 ? n - 8 : n));
    expect(findings.map((f) => f.id)).toEqual(["readings-repeated"]);
    expect(findings[0]!.readings[0]).toEqual([24, 31]);
  });
  it("a stale register", () => {
    const findings = tone((n) => (n === 41 ? 40 : n));
    expect(findings.map((f) => f.id)).toEqual(["readings-repeated"]);
    expect(findings[0]!.readings).toEqual([[41, 41]]);
  });
  it("nothing in a sound one", () => expect(tone((n) => n)).toEqual([]));
});

describe("a ramp of sixty readings, 70 codes each", () => {
  const stimulus: Stimulus = { kind: "ramp", from: -0.01, to: 2.51, duration: null, accuracy: LEVEL };
  const ramp = (index: (n: number) => number) => found(stimulus, (n) => 70 * n - 17, index);

  it("jumps where one reading is lost", () => {
    const findings = ramp(losing([28, 1])).filter((f) => f.id.startsWith("readings-"));
    expect(findings.map((f) => [f.id, f.readings])).toEqual([["readings-lost", [[27, 28]]]]);
    expect(findings[0]!.text).toContain("1 reading is missing");
  });
  it("stands still where one is stale", () => {
    const findings = ramp((n) => (n === 35 ? 34 : n)).filter((f) => f.id.startsWith("readings-"));
    expect(findings.map((f) => [f.id, f.readings])).toEqual([["readings-repeated", [[35, 35]]]]);
  });
  it("goes back where a block comes again", () => {
    const findings = ramp((n) => (n >= 24 ? n - 8 : n)).filter((f) => f.id.startsWith("readings-"));
    expect(findings.map((f) => [f.id, f.readings])).toEqual([["readings-repeated", [[24, 31]]]]);
  });
});

it("a block that is sent again and cut short by the record's end is found, and the rest keeps its figures", () => {
  const cycles = 0.15771235;
  const { record } = simulated(spec(sine(cycles * 50_000)), ["noise=0.25"], { readings: 2000, seed: 5 });
  // By construction: readings 1893 to 1999 show those 256 before again.
  const codes = record.codes.map((code, n, all) => (n < 1893 ? code : all[n - 256]!));
  const { findings } = matchRecord({ ...record, codes });
  expect(findings.filter((f) => f.severity !== "note").map((f) => [f.id, f.readings])).toEqual([
    ["readings-repeated", [[1893, 1999]]],
  ]);
});
