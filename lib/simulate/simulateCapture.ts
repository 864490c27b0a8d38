import type { CaptureSpec } from "../bench/bench.ts";
import { type PinStimulus, pinStimulus } from "../bench/pinStimulus.ts";
import { type Scale, scaleOf } from "../bench/scale.ts";
import type { Hertz, Lsb, Seconds, Volts } from "../bench/units.ts";
import type { Stretch } from "../capture/record.ts";
import { type Random, seededRandom } from "../signal/random.ts";
import { plantCodeFaults, wordsOf } from "./codeFaults.ts";
import { type ConverterFaults, convert, simulatedTransitions } from "./converterModel.ts";
import type { FaultName, PlantedFault } from "./faults.ts";
import { pinDisturbance } from "./pinDisturbance.ts";
import { rateFor } from "./rateFor.ts";
import { type ReadingOrder, readingOrder } from "./readingOrder.ts";
import { levelsOf, sineOf, waveformOf } from "./stimulusWaveform.ts";

export interface SimulateOptions {
  /** Logged readings; null: what suits the stimulus. Steps take theirs from the bench. */
  readonly readings?: number | null;
  readonly seed?: number;
  readonly faults?: readonly PlantedFault[];
  /** The converter's own seed, so that several captures of one session see the same converter. */
  readonly converterSeed?: number;
  /** What is on the neighbouring channel, volts at the pin, for settling after a switch of channel. */
  readonly neighbour?: Volts;
}

/** A simulated capture with everything that is true of it. */
export interface SimulatedCapture {
  readonly spec: CaptureSpec;
  /** Logged words, one a reading. */
  readonly words: Int32Array;
  /** Plain codes behind them, before faults of writing. */
  readonly codes: Int32Array;
  /** When each reading was taken, from the first. */
  readonly seconds: Float64Array;
  /** Running number of each reading by the converter's own count: gaps where readings were lost. */
  readonly sequence: Int32Array;
  /** Steps given as a column: the applied voltage at the source, one a reading. */
  readonly applied: Float64Array | null;
  /** A neighbouring channel's words, where crosstalk was planted. */
  readonly neighbourWords: Int32Array | null;
  readonly truth: CaptureTruth;
}

export interface CaptureTruth {
  readonly rate: Hertz;
  /** The scale of the converter that was simulated, before firmware averaging. */
  readonly scale: Scale;
  /** Element k is T[k] in volts; element 0 −Infinity. */
  readonly transitions: Float64Array;
  readonly converter: ConverterFaults;
  readonly noise: Lsb;
  /** What really was applied, at the pin. */
  readonly stimulus: PinStimulus;
  /** Of a sine, at the first reading; rad. */
  readonly phase: number;
  readonly planted: readonly { readonly fault: PlantedFault; readonly where: readonly Stretch[] }[];
}

/** The size of a planted fault, or what holds without it. */
function sizeOf(faults: readonly PlantedFault[], name: FaultName, without: number): number {
  return faults.find((f) => f.name === name)?.size ?? without;
}

/**
 * Simulates one capture of a bench file with known transitions, noise and faults.
 * @throws RangeError  the capture has no stimulus, or a fault does not suit it
 */
export function simulateCapture(spec: CaptureSpec, options: SimulateOptions = {}): SimulatedCapture {
  const stated = pinStimulus(spec);
  if (stated === null) throw new RangeError(`simulateCapture: capture "${spec.name}" has no stimulus to simulate`);
  const { faults = [], seed = 1, converterSeed = 1 } = options;
  const random = seededRandom(seed);
  const size = (name: FaultName, without = 0): number => sizeOf(faults, name, without);
  const { converter } = spec;
  const bits = converter.bits + size("wider") - size("narrower");
  const scale = scaleOf({ ...converter, bits, averaging: null });
  const rate = (spec.sampleRate ?? rateFor(converter, stated)) * (1 + size("rate") / 100);
  const stimulus = appliedStimulus(stated, spec, scale, rate, faults);
  const readings = recordLength(stimulus, scale, options.readings ?? null);
  const order = readingOrder(readings, faults, random);
  const phase = 2 * Math.PI * random.uniform();
  const converterFaults: ConverterFaults = {
    offset: size("converter-offset"),
    gainPercent: size("converter-gain"),
    dnlSigma: size("dnl"),
    bow: size("bow"),
    sCurve: size("s-curve"),
    majorCarry: size("major-carry"),
    missing: faults.filter((f) => f.name === "missing-code").map((f) => f.size),
    seed: converterSeed,
  };
  const transitions = simulatedTransitions(scale, converterFaults);
  const noise = size("noise", 0.3);

  const instants = samplingInstants(order.needed, rate, faults, random);
  const clean = waveformOf(stimulus, scale, rate, order.needed, phase);
  const disturb = pinDisturbance(stimulus, spec, scale, rate, order.needed, faults, random, options.neighbour);
  const taken = new Int32Array(order.needed);
  const averaging = converter.averaging;
  const conversions = averaging?.readings ?? 1;
  const sigma = noise * scale.lsb;
  for (let n = 0; n < order.needed; n++) {
    const t = instants[n]!;
    const volts = disturb(clean(t, n), t, n);
    // A burst for one averaged reading is taken as short against the stimulus.
    let sum = 0;
    for (let i = 0; i < conversions; i++)
      sum += convert(transitions, volts + (sigma > 0 ? sigma * random.normal() : 0));
    taken[n] = averaging === null ? sum : Math.floor(sum / 2 ** averaging.shift);
  }

  const codes = new Int32Array(readings);
  const seconds = new Float64Array(readings);
  const sequence = new Int32Array(readings);
  const start = instants[order.instant[0]!]!;
  for (let i = 0; i < readings; i++) {
    codes[i] = taken[order.shown[i]!]!;
    seconds[i] = instants[order.instant[i]!]! - start;
    sequence[i] = order.instant[i]!;
  }
  const codeWhere = plantCodeFaults(codes, bits, faults, random);
  return {
    spec,
    words: wordsOf(codes, { ...converter, bits }, faults),
    codes,
    seconds,
    sequence,
    applied: appliedColumn(stated, spec, scale, order),
    neighbourWords: neighbourWords(
      spec,
      stimulus,
      scale,
      transitions,
      instants,
      order,
      sigma,
      phase,
      rate,
      faults,
      random,
    ),
    truth: {
      rate,
      scale,
      transitions,
      converter: converterFaults,
      noise,
      stimulus,
      phase,
      planted: faults.map((fault) => ({
        fault,
        where: order.where.get(fault) ?? codeWhere.get(fault) ?? [[0, readings - 1]],
      })),
    },
  };
}

/** What the source really applies: the stated stimulus with the faults of its settings. */
function appliedStimulus(
  stated: PinStimulus,
  spec: CaptureSpec,
  scale: Scale,
  rate: Hertz,
  faults: readonly PlantedFault[],
): PinStimulus {
  const size = (name: FaultName, without = 0): number => sizeOf(faults, name, without);
  const shift = (size("offset") / 100) * scale.fsr;
  const stretch = 1 + size("amplitude") / 100;
  switch (stated.kind) {
    case "sine": {
      const { frequency, amplitude, offset } = sineOf(stated, scale, rate);
      const phases = size("phases");
      const moved = offset + shift;
      const past = size("overdriven");
      return {
        ...stated,
        frequency:
          phases > 0
            ? (rate * coprimeNear((frequency / rate) * phases, phases)) / phases
            : frequency * (1 + size("frequency") / 100),
        amplitude: past > 0 ? spec.converter.pin.high + past - moved : amplitude * stretch,
        offset: moved,
      };
    }
    case "ramp":
    case "triangle": {
      const [a, b] = stated.kind === "ramp" ? [stated.from, stated.to] : [stated.low, stated.high];
      const middle = (a + b) / 2 + shift;
      const [from, to] = [middle + (a - (a + b) / 2) * stretch, middle + (b - (a + b) / 2) * stretch];
      return stated.kind === "ramp" ? { ...stated, from, to } : { ...stated, low: from, high: to };
    }
    case "steady":
      return { ...stated, voltage: (stated.voltage ?? scale.low + 0.4873 * scale.fsr) + shift };
    case "steps":
      return shift === 0
        ? stated
        : { ...stated, levels: levelsOf(stated, scale).map((l) => ({ ...l, voltage: l.voltage + shift })) };
  }
}

/** The whole number nearest to x that has no factor in common with q. */
function coprimeNear(x: number, q: number): number {
  const gcd = (a: number, b: number): number => (b === 0 ? a : gcd(b, a % b));
  for (let away = 0; ; away++)
    for (const p of [Math.round(x) + away, Math.round(x) - away]) if (p > 0 && gcd(p, q) === 1) return p;
}

function recordLength(stimulus: PinStimulus, scale: Scale, wanted: number | null): number {
  if (stimulus.kind === "steps") return levelsOf(stimulus, scale).reduce((sum, l) => sum + l.readings, 0);
  if (wanted !== null) return wanted;
  const perCode = Math.min(1 << 20, 16 * 2 ** scale.bits);
  return stimulus.kind === "sine" ? 8192 : stimulus.kind === "steady" ? 4096 : Math.max(4096, perCode);
}

/** When the converter samples: evenly, or with the planted scatter. */
function samplingInstants(count: number, rate: Hertz, faults: readonly PlantedFault[], random: Random): Float64Array {
  const jitter = sizeOf(faults, "jitter", 0) / 100;
  const late = sizeOf(faults, "late", 0) / 100;
  const instants = new Float64Array(count);
  for (let n = 0; n < count; n++) {
    const moved = (jitter > 0 ? jitter * random.normal() : 0) + (late > 0 && n % 10 === 9 ? late : 0);
    instants[n] = ((n + moved) / rate) as Seconds;
  }
  return instants;
}

function appliedColumn(
  stimulus: PinStimulus,
  spec: CaptureSpec,
  scale: Scale,
  order: ReadingOrder,
): Float64Array | null {
  if (stimulus.kind !== "steps" || stimulus.column === null) return null;
  const levels: number[] = [];
  for (const { voltage, readings } of levelsOf(stimulus, scale))
    for (let i = 0; i < readings; i++) levels.push(voltage);
  const { frontEnd } = spec;
  const source = (v: Volts): Volts => (frontEnd === null ? v : (v - frontEnd.offset) / frontEnd.gain);
  return Float64Array.from(order.instant, (n) => source(levels[Math.min(n, levels.length - 1)]!));
}

/** A quiet neighbour on which the tone shows, taken half a reading period later. */
function neighbourWords(
  spec: CaptureSpec,
  stimulus: PinStimulus,
  scale: Scale,
  transitions: Float64Array,
  instants: Float64Array,
  order: ReadingOrder,
  sigma: Volts,
  phase: number,
  rate: Hertz,
  faults: readonly PlantedFault[],
  random: Random,
): Int32Array | null {
  const crosstalk = faults.find((f) => f.name === "crosstalk");
  if (!crosstalk || stimulus.kind !== "sine") return null;
  const { frequency, amplitude } = sineOf(stimulus, scale, rate);
  const share = 10 ** (crosstalk.size / 20);
  const quiet = scale.low + 0.4127 * scale.fsr;
  const codes = Int32Array.from(order.shown, (n) => {
    const t = instants[n]! + 0.5 / rate;
    const tone = share * amplitude * Math.cos(2 * Math.PI * ((frequency * t) % 1) + phase);
    return convert(transitions, quiet + tone + (sigma > 0 ? sigma * random.normal() : 0));
  });
  return wordsOf(codes, spec.converter, []);
}
