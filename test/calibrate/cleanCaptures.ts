import type { CaptureSpec, Stimulus } from "../../lib/bench/bench.ts";
import type { Random } from "../../lib/signal/random.ts";
import { converter, LEVEL, SOURCE, spec } from "../match/simulatedRecord.ts";

/** A random capture in order: what it is, in words, and how to simulate it. */
export interface CleanCapture {
  readonly what: string;
  readonly spec: CaptureSpec;
  /** Converter faults of ordinary size, as the simulator reads them. */
  readonly faults: readonly string[];
  readonly readings: number;
  readonly time: boolean;
  /** Step of the time stamps, s. */
  readonly resolution: number;
}

const pick = <T>(random: Random, list: readonly T[]): T => list[Math.floor(random.uniform() * list.length)] as T;
const between = (random: Random, low: number, high: number): number => low + (high - low) * random.uniform();

/**
 * Any kind of capture that a bench in order gives: 8 to 16 bits, 60 readings to `longest`, noise 0 to 5 LSB, coherent or not, INL of up to some LSB, missing
 * codes, overdriven sines, levels that sit on a code's edge. What the source really does stays inside its stated limits.
 */
export function cleanCapture(random: Random, longest = 65_536): CleanCapture {
  const bits = pick(random, [8, 10, 12, 12, 14, 16]);
  const noise = pick(random, [0, 0.05, 0.3, 0.5, 1, 2, 5]);
  const readings = Math.round(2 ** between(random, Math.log2(60), Math.log2(longest)));
  const low = pick(random, [0, 0, -1.25]);
  const high = low + 2.5;
  const lsb = 2.5 / 2 ** bits;
  const averaging = pick(random, [null, null, null, null, { readings: 16, shift: 2 }, { readings: 4, shift: 0 }]);
  const device = converter({
    bits,
    low,
    high,
    coding: pick(random, ["binary", "twos-complement", "offset-binary"] as const),
    firstTransition: pick(random, [0.5, 1]),
    container: 20,
    align: averaging === null ? pick(random, ["right", "right", "left"] as const) : "right",
    averaging,
  });
  const sampleRate = pick(random, [100, 1000, 8000, 50_000, 1e6]);
  const middle = (low + high) / 2;
  const within = (limit: number): number => limit * between(random, -1, 1);
  const faults = [
    `noise=${noise}`,
    `converter-offset=${between(random, -2, 2)}`,
    `converter-gain=${between(random, -0.5, 0.5)}`,
    // 0.2 LSB a code adds up to an INL of ±6 LSB at 12 bits.
    `dnl=${pick(random, [0, 0.02, 0.2 / Math.sqrt(2 ** (bits - 8)), bits <= 12 ? 0.2 : 0.02])}`,
    `bow=${between(random, -3, 3)}`,
    `s-curve=${between(random, -1, 1)}`,
  ];
  if (random.uniform() < 0.2) faults.push(`missing-code=${Math.floor(2 ** bits * between(random, 0.1, 0.9))}`);
  // A quiet neighbour in the same log, on which nothing shows.
  if (random.uniform() < 0.2) faults.push("crosstalk=-200");
  if (random.uniform() < 0.2) faults.push(`major-carry=${between(random, -0.9, 3)}`);
  const kind = pick(random, ["sine", "sine", "sine", "ramp", "triangle", "steady", "steady", "steps"] as const);
  let use: CaptureSpec["use"] = null;
  let stimulus: Stimulus;
  let what: string = kind;
  switch (kind) {
    case "sine": {
      // From a cycle or two in the record up to close to half the rate; coherent half of the time, whole cycles then prime to the readings as a plan makes them.
      let cycles = 2 ** between(random, 1, Math.log2(0.45 * readings));
      if (random.uniform() < 0.5) {
        cycles = Math.max(1, Math.round(cycles));
        while (gcd(cycles, readings) !== 1) cycles++;
        what += " coherent";
      }
      // Close to a third, a quarter or a fifth of the rate a dozen readings see a few places of the converter's curve, and the next dozen others.
      if (random.uniform() < 0.15) {
        const part = pick(random, [3, 4, 5]);
        cycles = readings / part + pick(random, [-1, 1]) * 2 ** between(random, Math.log2(3), Math.log2(readings / 12));
        what += ` near 1/${part} of the rate`;
      }
      const overdriven = random.uniform() < 0.3;
      if (overdriven) {
        use = ["histogram"];
        what += " overdriven";
      }
      const amplitude = overdriven
        ? 1.25 + between(random, 4, 20) * lsb + 0.02
        : pick(random, [1.2, 1.23, 1.0, 0.5, 0.1]);
      const frequency = (cycles / readings) * sampleRate;
      stimulus = {
        kind: "sine",
        frequency,
        amplitude: amplitude * (1 + within(SOURCE.amplitude)),
        offset: middle + within(SOURCE.offset),
        accuracy: SOURCE,
        purity: { thd: null, snr: null },
      };
      break;
    }
    case "ramp": {
      const up = random.uniform() < 0.5;
      const [a, b] = [low - 0.01, high + 0.01];
      stimulus = { kind: "ramp", from: up ? a : b, to: up ? b : a, duration: null, accuracy: LEVEL };
      break;
    }
    case "triangle":
      stimulus = {
        kind: "triangle",
        low: low - 0.01,
        high: high + 0.01,
        frequency: (sampleRate / readings) * pick(random, [1, 2, 5, 13.7]),
        accuracy: LEVEL,
      };
      break;
    case "steady": {
      const level = between(random, 0.1, 0.9) * 2.5 + low;
      const onEdge = random.uniform() < 0.3;
      stimulus = {
        kind: "steady",
        voltage: onEdge ? low + Math.round((level - low) / lsb) * lsb + 0.5 * lsb : level,
        accuracy: LEVEL,
      };
      if (onEdge) what += " on an edge";
      break;
    }
    case "steps": {
      const levels: { voltage: number; readings: number }[] = [];
      const count = pick(random, [5, 11, 33]);
      const each = pick(random, [8, 32, 100]);
      for (let i = 0; i < count; i++)
        levels.push({ voltage: low + 2.5 * (0.02 + (0.96 * i) / (count - 1)), readings: each });
      const both = random.uniform() < 0.5;
      stimulus = {
        kind: "steps",
        column: null,
        levels: both ? [...levels, ...[...levels].reverse()] : levels,
        direction: both ? "both" : "up",
        accuracy: LEVEL,
      };
      break;
    }
  }
  const time = random.uniform() < 0.3;
  const resolution = pick(random, [1e-7, 1e-6, 1e-3]);
  what += `, ${bits} bit, ${readings} readings, noise ${noise}, ${sampleRate} Hz${time ? `, stamped to ${resolution} s` : ""}${averaging ? ", averaged" : ""}`;
  return { what, spec: spec(stimulus, { converter: device, sampleRate, use }), faults, readings, time, resolution };
}

function gcd(a: number, b: number): number {
  return b === 0 ? a : gcd(b, a % b);
}
