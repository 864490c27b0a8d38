import { expect, it } from "vitest";
import { timeStamps } from "../../lib/capture/timeStamps.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { simulated, sine, spec, steady } from "./simulatedRecord.ts";

const READINGS = 4000;

/** What is told of a record whose readings are even, or scatter with their stamps, when its log shows `stamps` µs. */
function told(options: {
  stimulus?: ReturnType<typeof sine>;
  rate: number;
  stamps: (n: number) => number;
  faults?: string[];
}): string[] {
  const { stimulus = sine(997), rate, stamps, faults = [] } = options;
  const { record } = simulated(spec(stimulus, { sampleRate: rate }), ["noise=0.5", ...faults], {
    readings: READINGS,
    seed: 3,
    time: true,
  });
  const own = faults.length > 0 ? record.log.time : null;
  const raw = Float64Array.from({ length: READINGS }, (_, n) =>
    Math.round(own === null ? stamps(n) : own.seconds[n]! * 1e6),
  );
  const time = timeStamps(raw, "us", "t", 1).stamps;
  const { findings } = matchRecord({ ...record, log: { ...record.log, time } });
  return findings
    .filter((f) => f.id !== "too-few-readings" && f.id !== "not-coherent")
    .map((f) => `${f.severity} ${f.id}`);
}

// By construction: what the log shows is made here, and so is what the readings did.
it("an even clock that counts in steps of 4 µs is even, at any rate", () => {
  for (const [rate, period] of [
    [8000, 125],
    [48_000, 1e6 / 48_000],
    [200_000, 5],
  ] as const)
    expect(told({ rate, stamps: (n) => Math.floor((n * period + 1.3) / 4) * 4 }), `${rate} Hz`).toEqual([]);
});
it("stamps that come late by some thousandths of a period are a note", () => {
  const random = seededRandom(8);
  expect(told({ rate: 1000, stamps: (n) => 1000 * n + 4 * Math.abs(random.normal()), stimulus: sine(9.97) })).toEqual([
    "note uneven-sampling",
  ]);
});
it("readings that scatter by 5 % of a period are a warning; stamps that scatter while the tone shows that the readings did not, a note", () => {
  expect(told({ rate: 10_000, stamps: () => 0, faults: ["jitter=5"] })).toEqual(["warning uneven-sampling"]);
  const random = seededRandom(9);
  expect(told({ rate: 10_000, stamps: (n) => 100 * n + 5 * random.normal() })).toEqual(["note uneven-sampling"]);
});
it("where no tone can tell, 5 % is a warning", () => {
  const random = seededRandom(10);
  expect(told({ rate: 10_000, stamps: (n) => 100 * n + 5 * random.normal(), stimulus: steady() })).toEqual([
    "warning uneven-sampling",
  ]);
});
