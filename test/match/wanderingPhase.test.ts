import { expect, it } from "vitest";
import type { CaptureRecord } from "../../lib/capture/record.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { converter, simulated, sine, spec } from "./simulatedRecord.ts";

// A generator free to wander within its 20 ppm: ±10 ppm once a record turns the phase by ±10e-6·2π·2099/(2π) = ±0.021 rad, 40 codes at the steepest.
it.each([1, 2, 3, 4])("a source that wanders within its accuracy repeats no readings, seed %d", (seed) => {
  const readings = 9472;
  const cycles = 2099 / readings;
  const frequency = cycles * 50_000;
  const { record } = simulated(spec(sine(frequency)), [], { readings, seed });
  const random = seededRandom(seed);
  const codes = Int32Array.from({ length: readings }, (_, n) => {
    const turn = 0.021 * Math.sin((2 * Math.PI * n) / readings + seed);
    return Math.round(2048 + 1966 * Math.cos(2 * Math.PI * cycles * n + turn) + 0.05 * random.normal());
  });
  const wandering: CaptureRecord = { ...record, codes };
  const { findings } = matchRecord(wandering);
  const ids = findings.map((f) => f.id);
  expect(ids).not.toContain("readings-repeated");
  expect(ids).not.toContain("readings-lost");
  // 40 codes at the steepest beside 0.3 codes of noise would pass for a converter of 40 dB less.
  expect(findings.find((f) => f.id === "uneven-sampling")?.nulls).toContain("snr");
});

it.each([1, 2, 3, 4])("white jitter, however large, is noise and leaves the tone its figures, seed %d", (seed) => {
  const readings = 4096;
  const cycles = [0.0123, 0.1317, 0.4021, 5.3 / readings][seed - 1]!;
  const { record } = simulated(spec(sine(cycles * 50_000)), [], { readings, seed });
  const random = seededRandom(seed);
  // 0.02 rad rms of each reading, 28 codes rms.
  const codes = Int32Array.from({ length: readings }, (_, n) =>
    Math.round(2048 + 1966 * Math.cos(2 * Math.PI * cycles * n + 0.02 * random.normal())),
  );
  const findings = matchRecord({ ...record, codes }).findings.filter((f) => f.severity !== "note");
  expect(findings.map((f) => f.id)).toEqual([]);
});

// Blocks of 16 readings see three or four places of the curve each: the curve moves their phase, and no time does. Closed form: a curve of one code over an 8-bit range.
it.each([
  [0.335865, 200, 0],
  [0.337022, 120, 3],
  [0.337022, 200, 1.5],
  [0.337022, 255, 1.5],
])(
  "the converter's own curve at a few places a block is no wandering phase, %d cycles a reading, period %d",
  (cycles, period, shift) => {
    const readings = 4096;
    const bench = { ...spec(sine(cycles * 50_000, 1.28)), converter: converter({ bits: 8 }) };
    const { record } = simulated(bench, [], { readings, seed: 1 });
    const codes = Int32Array.from({ length: readings }, (_, n) => {
      const y = 127.5 + 131 * Math.cos(2 * Math.PI * cycles * n + 0.7);
      return Math.max(0, Math.min(255, Math.round(y + Math.sin((2 * Math.PI * y) / period + shift))));
    });
    const { findings } = matchRecord({ ...record, codes });
    expect(findings.filter((f) => f.id === "uneven-sampling")).toEqual([]);
  },
);
