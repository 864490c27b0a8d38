import type { CaptureSpec, Stimulus } from "../../lib/bench/bench.ts";
import type { FindingId } from "../../lib/match/finding.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { FAULTS, type FaultName } from "../../lib/simulate/faults.ts";
import { LEVEL, ramp, simulated, sine, spec, steady } from "../match/simulatedRecord.ts";

/** One fault on one kind of capture, over a range of sizes; the middle one is moderate. */
export interface FaultCase {
  readonly name: string;
  readonly finding: FindingId;
  readonly fault: FaultName;
  readonly sizes: readonly (number | string)[];
  readonly spec: (random: () => number) => CaptureSpec;
  readonly readings: number;
  readonly time?: boolean;
}

/** A tone somewhere between 7 and 700 readings a cycle, a little below full scale. */
const tone = (random: () => number): CaptureSpec => spec(sine(50_000 * 10 ** (-0.85 - 2 * random())));
/** A tone of 9 to 20 cycles in 80 readings that hold eight periods of the mains. */
const slowTone = (random: () => number): CaptureSpec =>
  spec(sine(500 * (0.115 + 0.13 * random())), { sampleRate: 500 });
const ramps = (): CaptureSpec => spec(ramp());
const level = (random: () => number): CaptureSpec => spec(steady(0.3 + 1.9 * random()));
const lowLevel = (random: () => number): CaptureSpec => spec(steady(0.1 + 0.2 * random()));
/** 3.3 passes of 8192 readings. */
const passes = (rate: number): Stimulus => ({
  kind: "triangle",
  low: -0.01,
  high: 2.51,
  frequency: (3.3 * rate) / 8192,
  accuracy: LEVEL,
});
const triangle = (): CaptureSpec => spec(passes(50_000));
const slowTriangle = (): CaptureSpec => spec(passes(2000), { sampleRate: 2000 });
/** Levels by the bench file's list, not by a column of the log. */
const LISTED: Stimulus = {
  kind: "steps",
  column: null,
  levels: Array.from({ length: 21 }, (_, i) => ({ voltage: 0.06 + 0.119 * i, readings: 390 })),
  direction: "up",
  accuracy: LEVEL,
};
const listed = (): CaptureSpec => spec(LISTED);
const slowSteps = (): CaptureSpec => spec(LISTED, { sampleRate: 2000 });
const steps = (): CaptureSpec =>
  spec({ kind: "steps", column: "vin", levels: null, direction: "both", accuracy: LEVEL });
const scan = (random: () => number): CaptureSpec =>
  spec(steady(0.5 + random()), { scan: { order: ["adc0", "adc1"], readingsPerVisit: 4 } });

function on(
  kind: string,
  make: FaultCase["spec"],
  fault: FaultName,
  sizes: FaultCase["sizes"],
  more: Partial<FaultCase> = {},
): FaultCase {
  const finding = FAULTS[fault].finding;
  if (finding === null) throw new RangeError(`${fault} names no finding`);
  return {
    name: `${kind}: ${fault}`,
    finding,
    fault,
    sizes,
    spec: make,
    readings: kind === "ramp" ? 65_536 : 8192,
    ...more,
  };
}

export const FAULT_CASES: readonly FaultCase[] = [
  on("tone", tone, "lost", [1, 3, 40]),
  on("tone of 500 readings", tone, "lost", [1, 3, 40], { readings: 500 }),
  on("tone", tone, "losses", [4]),
  on("ramp", ramps, "lost", [60, 100, 200]),
  on("stamped level", level, "lost", [1, 3, 40], { time: true }),
  on("tone", tone, "repeated", [3, 10, 30]),
  on("tone", tone, "repeated-block", [16, 64, 256]),
  on("ramp", ramps, "repeated-block", [16, 64, 256]),
  on("level", level, "repeated-block", [64, 128, 256]),
  on("tone", tone, "stuck-low", [0, 5, 11]),
  on("tone", tone, "stuck-high", [0, 5, 11]),
  on("ramp", ramps, "stuck-low", [0, 5, 11]),
  on("tone", tone, "swapped-bits", ["0:1", "3:4", "10:11"]),
  on("ramp", ramps, "swapped-bits", ["0:1", "3:4", "10:11"]),
  on("steps", steps, "swapped-bits", ["1:2", "3:4", "10:11"]),
  on("steps", steps, "stuck-low", [4, 6, 10]),
  on("steps", steps, "stuck-high", [4, 6, 10]),
  on("listed steps", listed, "stuck-low", [4, 6, 10]),
  on("listed steps", listed, "narrower", [1, 2, 4]),
  on("listed steps", listed, "offset", [2, 3, 5]),
  on("triangle", triangle, "stuck-low", [0, 5, 11]),
  on("tone", tone, "low-bits", [2, 3]),
  on("ramp", ramps, "low-bits", [2, 3]),
  on("triangle", triangle, "low-bits", [2, 3, 4]),
  on("listed steps", listed, "low-bits", [2, 3]),
  on("tone", tone, "outliers", [1, 8, 30]),
  on("tone of 80 readings", slowTone, "outliers", [1, 3, 5], { readings: 80 }),
  on("ramp", ramps, "outliers", [1, 8, 30]),
  on("level", level, "outliers", [1, 8, 30]),
  on("tone", tone, "wider", [1, 2, 4]),
  on("tone", tone, "narrower", [1, 2, 4]),
  on("ramp", ramps, "narrower", [1, 2, 4]),
  on("level", level, "narrower", [1, 2, 4]),
  on("low level", lowLevel, "wider", [1, 2, 3]),
  on("tone", tone, "left-aligned", [2, 4]),
  on("tone", tone, "byte-swapped", [1]),
  on("ramp", ramps, "byte-swapped", [1]),
  on("tone", tone, "sign", [1]),
  on("ramp", ramps, "sign", [1]),
  on("level", level, "sign", [1]),
  on("tone", tone, "frequency", [0.1, 0.5, 1]),
  on("tone of 500 readings", tone, "frequency", [0.1, 0.5, 1], { readings: 500 }),
  on("tone", tone, "rate", [-0.1, -0.5, -3]),
  on("tone", tone, "amplitude", [-2.5, -4, -8]),
  on("tone", tone, "offset", [-2, -3, -5]),
  on("ramp", ramps, "offset", [2, 3, 5]),
  on("level", level, "offset", [2, 3, 5]),
  on("tone", tone, "phases", [73, 200]),
  on("tone", tone, "overdriven", [0.2, 0.5]),
  on("tone", tone, "clipped", [98, 95, 90]),
  on("tone of 500 readings", tone, "clipped", [98, 95, 90], { readings: 500 }),
  on("ramp", ramps, "clipped", [98, 95, 90]),
  on("tone", tone, "compressed", [2, 4, 8]),
  on("tone of 80 readings", slowTone, "compressed", [2, 4, 8], { readings: 80 }),
  on("level", level, "hum", [0.3, 1, 4]),
  on("tone", tone, "hum", [0.3, 1, 4]),
  on("tone of 80 readings", slowTone, "hum", [1, 3, 6], { readings: 80 }),
  on("ramp", ramps, "hum", [1, 3, 6], { readings: 8192 }),
  on("slow triangle", slowTriangle, "hum", [1, 3, 6]),
  on("slow listed steps", slowSteps, "hum", [1, 3, 6]),
  on("level", level, "drift", [0.5, 2, 8]),
  on("tone", tone, "drift", [0.5, 2, 8]),
  on("level", level, "warm-up", [0.5, 3, 12]),
  on("tone", tone, "warm-up", [0.5, 3, 12]),
  on("tone of 80 readings", slowTone, "warm-up", [3, 6, 12], { readings: 80 }),
  on("tone", tone, "gain-drift", [2, 5, 10]),
  on("level", level, "telegraph", [1.5, 3, 6]),
  on("tone", tone, "telegraph", [1.5, 3, 6]),
  on("steps", steps, "settling", [0.3, 1, 2]),
  on("scan of a level", scan, "settling", [0.2, 0.5, 2]),
  on("tone", tone, "crosstalk", [-70, -60, -50]),
  on("stamped tone", tone, "jitter", [1, 5], { time: true }),
  on("stamped tone", tone, "late", [10, 40], { time: true }),
];

/** Share of captures with this fault whose finding names it. */
export function detectionRate(fault: FaultCase, size: number | string, captures: number, seed: number): number {
  const random = seededRandom(seed * 7919 + fault.name.length);
  let found = 0;
  for (let i = 0; i < captures; i++) {
    const { record } = simulated(
      fault.spec(() => random.uniform()),
      [`${fault.fault}=${size}`, "noise=0.5", "bow=1", "dnl=0.02"],
      { readings: fault.readings, seed: seed * 65_537 + i, converterSeed: i + 1, time: fault.time },
    );
    if (matchRecord(record).findings.some((f) => f.id === fault.finding)) found++;
  }
  return found / captures;
}
