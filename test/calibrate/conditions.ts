import type { MetricName } from "../../lib/bench/metrics.ts";
import { readBench } from "../../lib/bench/readBench.ts";
import { type Scale, scaleOf } from "../../lib/bench/scale.ts";
import { scoreCapture } from "../../lib/score.ts";
import type { CaptureScore } from "../../lib/session.ts";
import { type Random, seededRandom } from "../../lib/signal/random.ts";
import { type ConverterFaults, convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";
import { codeMoments, levelTruth } from "../../lib/simulate/levelTruth.ts";
import { staticTruth } from "../../lib/simulate/staticTruth.ts";
import { toneTruth } from "../../lib/simulate/toneTruth.ts";

/**
 * One condition of the calibration. Every trial draws a converter, a source within its stated limits, a phase and noise; scores the capture as the
 * command would; and compares each interval with what is true. The waveforms here are on purpose not lib/simulate's.
 */
export interface Condition {
  readonly stimulus: "tone" | "sine histogram" | "ramp" | "triangle" | "steady" | "steps";
  readonly bits: number;
  /** rms, LSB. */
  readonly noise: number;
  readonly readings: number;
  readonly coherent?: boolean;
  readonly line?: "endpoint" | "best-fit";
  /** How the converter errs; "mixed" draws a little of everything. */
  readonly converter?: ConverterModel;
  /** Correlation of the noise from reading to reading (first-order autoregression); its rms stays `noise`. */
  readonly correlation?: number;
  /** Of a steady input from the first reading to the last, LSB. */
  readonly drift?: number;
}

export type ConverterModel = keyof typeof MODELS;

/** Offset and gain are drawn with every model. */
const MODELS = {
  mixed: (spread, random) => ({
    dnlSigma: 0.02 + 0.1 * random.uniform(),
    bow: spread(1.5),
    sCurve: spread(0.8),
    majorCarry: spread(0.5),
  }),
  ideal: () => ({}),
  "random DNL": () => ({ dnlSigma: 0.2 }),
  "smooth INL": (spread, random) => ({ dnlSigma: 0.02, bow: random.uniform() < 0.5 ? 2 : -2, sCurve: spread(0.5) }),
  "missing codes": (_, random, top) => ({
    dnlSigma: 0.1,
    missing: [0.2, 0.6].map((x) => Math.floor((x + 0.2 * random.uniform()) * top)),
  }),
} satisfies Record<string, (spread: (limit: number) => number, random: Random, top: number) => ConverterFaults>;

export type Truths = Partial<Record<MetricName, number>>;

const LOW = 0;
const HIGH = 2.5;
const RATE = 50_000;
/** ± limits stated for the source; each trial's source lies somewhere within them, all places alike. */
const LIMIT = { amplitude: 0.002, offset: 0.002, gain: 0.001, linearity: 20e-6 };

export function describe(condition: Condition): string {
  const { stimulus, bits, noise, readings, coherent, line, converter, correlation, drift } = condition;
  const how = [
    stimulus,
    stimulus === "tone" || stimulus === "sine histogram" ? (coherent ? "coherent" : "random phase") : "",
    line === "best-fit" ? line : "",
    converter ?? "",
    correlation ? `noise correlated ${correlation}` : "",
    drift ? `drift ${drift} LSB` : "",
  ];
  return `${how.filter(Boolean).join(", ")}; ${bits} bit; σ ${noise}; ${readings.toLocaleString("en").replaceAll(",", " ")}`;
}

/** One trial: the scored capture and the truth of every metric that this stimulus shows. */
export function trial(condition: Condition, seed: number): { score: CaptureScore; truths: Truths } {
  const { bits, noise, readings, line = "endpoint" } = condition;
  // Conditions draw apart from each other, so that one unlucky run of sources does not show in every row.
  const random = seededRandom(seed * 7919 + hashOf(describe(condition)));
  const scale = scaleOf({ bits, low: LOW, high: HIGH, firstTransition: 0.5 });
  const spread = (limit: number): number => limit * (2 * random.uniform() - 1);
  const T = simulatedTransitions(scale, {
    offset: spread(3),
    gainPercent: spread(0.3),
    ...MODELS[condition.converter ?? "mixed"](spread, random, scale.topCode),
    seed: Math.floor(random.uniform() * 2 ** 31),
  });
  const sigma = noise * scale.lsb;
  const sample = (volts: (n: number) => number): Int32Array => {
    const codes = new Int32Array(readings);
    const rho = condition.correlation ?? 0;
    const fresh = Math.sqrt(1 - rho * rho);
    let e = random.normal();
    for (let n = 0; n < readings; n++) {
      codes[n] = convert(T, volts(n) + sigma * e);
      e = rho * e + fresh * random.normal();
    }
    return codes;
  };
  const set = setUps[condition.stimulus]({ condition, scale, T, sigma, random, spread, sample });
  const { bench, problems } = readBench(
    JSON.stringify({
      title: "calibration (simulated)",
      converter: { bits, range: { low: LOW, high: HIGH }, line },
      captures: [{ name: "c", file: "c.csv", sampleRate: RATE, ...set.capture }],
    }),
    "calibration",
  );
  if (bench === null) throw new Error(problems.map((p) => `${p.key}: ${p.found}`).join("; "));
  const score = scoreCapture({
    spec: bench.captures[0]!,
    sha256: "",
    log: {
      dialect: {
        kind: "columns",
        encoding: "utf-8",
        compressed: false,
        delimiter: null,
        decimal: ".",
        header: null,
        base: 10,
        sentence: "simulated",
        forced: [],
      },
      channels: [{ name: "adc0", codes: set.codes }],
      time: null,
      sequence: null,
      columns: new Map(set.column ? [["vin", set.column]] : []),
      lines: readings,
      bytes: 0,
      skipped: [],
      remarks: [],
    },
  });
  return { score, truths: set.truths(score) };
}

interface Bench {
  readonly condition: Condition;
  readonly scale: Scale;
  readonly T: Float64Array;
  readonly sigma: number;
  readonly random: Random;
  spread(limit: number): number;
  sample(volts: (n: number) => number): Int32Array;
}

interface SetUp {
  readonly capture: object;
  readonly codes: Int32Array;
  readonly column?: Float64Array;
  truths(score: CaptureScore): Truths;
}

const setUps: Record<Condition["stimulus"], (b: Bench) => SetUp> = {
  tone: (b) => sine(b, 0.45 * (0.9 + 0.2 * b.random.uniform())),
  "sine histogram": (b) =>
    sine(b, 0.5 * (1.01 + 0.02 * b.random.uniform()) + (4 * b.condition.noise) / 2 ** b.condition.bits),
  ramp: (b) => {
    const margin = (6 * b.condition.noise + 8) * b.scale.lsb;
    const [from, to] = [LOW - margin, HIGH + margin];
    const real = source(b);
    const last = b.condition.readings - 1;
    return {
      capture: { use: ["histogram"], stimulus: { kind: "ramp", from, to, accuracy: levelAccuracy } },
      codes: b.sample((n) => real(from + ((to - from) * n) / last)),
      truths: (score) => transitionTruths(b, score),
    };
  },
  triangle: (b) => {
    const margin = (6 * b.condition.noise + 8) * b.scale.lsb;
    const [low, high] = [LOW - margin, HIGH + margin];
    const real = source(b);
    const cycles = (3 + b.random.uniform()) / b.condition.readings;
    const start = b.random.uniform();
    return {
      capture: {
        use: ["histogram"],
        stimulus: { kind: "triangle", low, high, frequency: cycles * RATE, accuracy: levelAccuracy },
      },
      codes: b.sample((n) => {
        const x = (start + cycles * n) % 1;
        return real(low + (high - low) * (x < 0.5 ? 2 * x : 2 - 2 * x));
      }),
      truths: (score) => transitionTruths(b, score),
    };
  },
  steady: (b) => {
    const volts = LOW + (HIGH - LOW) * (0.1 + 0.8 * b.random.uniform());
    const { readings, drift = 0 } = b.condition;
    const at = (n: number): number => volts + drift * b.scale.lsb * (n / (readings - 1) - 0.5);
    return {
      capture: { stimulus: { kind: "steady" } },
      codes: b.sample(at),
      truths: () => ({
        ...steadyTruth(b, at),
        noiseRms: b.condition.noise,
        effectiveResolution: Math.min(b.condition.bits, Math.log2(2 ** b.condition.bits / b.condition.noise)),
        noiseFreeBits: Math.min(b.condition.bits, Math.log2(2 ** b.condition.bits / (6.6 * b.condition.noise))),
        drift: (drift * RATE) / (readings - 1),
      }),
    };
  },
  steps: (b) => {
    const levels = 17;
    const each = Math.floor(b.condition.readings / levels);
    const real = source(b);
    // Levels as a person sets them, unrelated to the converter's transitions, the outer ones clear of the rails: which levels touch them must not be chance.
    const margin = Math.max(0.03, (5 * b.condition.noise + 8) / 2 ** b.condition.bits);
    const nominal = Array.from(
      { length: levels },
      (_, i) => LOW + (HIGH - LOW) * (margin + ((1 - 2 * margin) * i) / (levels - 1)) + b.spread(1e-3),
    );
    const at = (n: number): number => Math.min(levels - 1, Math.floor(n / each));
    const column = new Float64Array(b.condition.readings).map((_, n) => nominal[at(n)]!);
    return {
      capture: { stimulus: { kind: "steps", column: "vin", direction: "up", accuracy: levelAccuracy } },
      codes: b.sample((n) => real(nominal[at(n)]!)),
      column,
      truths: () => {
        const { offsetError, gainError, inlMax, inlMin, totalUnadjustedError } = levelTruth(
          b.T,
          b.scale,
          nominal.map(real),
          b.sigma,
          b.condition.line ?? "endpoint",
        );
        return { offsetError, gainError, inlMax, inlMin, totalUnadjustedError };
      },
    };
  },
};

/** Mean and spread of the codes, and the slope that least squares tends to: of an input that drifts, over all places of the record alike. */
function steadyTruth({ T, sigma, condition }: Bench, at: (n: number) => number): Truths {
  const places = condition.drift ? 200 : 1;
  const { readings } = condition;
  const all = Array.from({ length: places }, (_, i) =>
    codeMoments(T, at(((i + 0.5) / places) * (readings - 1)), sigma),
  );
  const mean = all.reduce((sum, m) => sum + m.mean / places, 0);
  const square = all.reduce((sum, m) => sum + (m.sd ** 2 + (m.mean - mean) ** 2) / places, 0);
  return { meanCode: mean, codeRms: Math.sqrt(square) };
}

const levelAccuracy = {
  gain: `${100 * LIMIT.gain} %`,
  offset: `${1000 * LIMIT.offset} mV`,
  linearity: `${1e6 * LIMIT.linearity} ppm`,
};

/** A source somewhere within its stated limits: gain about 0 V, offset, and a bow for linearity. */
function source(b: Bench): (volts: number) => number {
  const gain = 1 + b.spread(LIMIT.gain);
  const offset = b.spread(LIMIT.offset);
  const bow = b.spread(LIMIT.linearity) * (HIGH - LOW);
  return (v) => {
    const x = Math.min(1, Math.max(0, (v - LOW) / (HIGH - LOW)));
    return gain * v + offset + bow * 4 * x * (1 - x);
  };
}

function sine(b: Bench, share: number): SetUp {
  const { condition, T, scale, sigma, random } = b;
  const M = condition.readings;
  const amplitude = share * (HIGH - LOW);
  const offset = (HIGH + LOW) / 2;
  const realAmplitude = amplitude * (1 + b.spread(LIMIT.amplitude));
  const realOffset = offset + b.spread(LIMIT.offset);
  const wanted = 0.02 + 0.4 * random.uniform();
  let cycles = Math.round(wanted * M);
  while (gcd(cycles, M) > 1) cycles++;
  const perReading = condition.coherent ? cycles / M : wanted;
  const phase = 2 * Math.PI * random.uniform();
  const tone = condition.stimulus === "tone";
  return {
    capture: {
      use: [tone ? "tone" : "histogram"],
      stimulus: {
        kind: "sine",
        frequency: perReading * RATE,
        amplitude,
        offset,
        accuracy: { amplitude: `${100 * LIMIT.amplitude} %`, offset: `${1000 * LIMIT.offset} mV` },
      },
    },
    codes: b.sample((n) => realOffset + realAmplitude * Math.cos(2 * Math.PI * perReading * n + phase)),
    truths: (score) =>
      tone
        ? toneTruth({
            T,
            scale,
            amplitude: realAmplitude,
            offset: realOffset,
            noise: sigma,
            sampleRate: RATE,
            inseparable: (score.curves.spectrum?.harmonics ?? [])
              .filter((h) => h.note === "not separable")
              .map((h) => h.order),
          })
        : transitionTruths(b, score),
  };
}

/** Static truth over the transitions that the capture says it tested: which ones, not how they came out. */
function transitionTruths({ T, scale, condition }: Bench, score: CaptureScore): Truths {
  const curve = score.curves.transitions;
  const tested =
    curve === undefined ? [] : [...curve.volts].flatMap((v, i) => (Number.isNaN(v) ? [] : [curve.first + i]));
  if (tested.length < 3) return {};
  const {
    inl: _inl,
    dnl: _dnl,
    offsetAtLow,
    ...truths
  } = staticTruth(T, scale, condition.line ?? "endpoint", tested[0], tested.at(-1));
  return { ...truths, ...(tested[0] === 1 ? { offsetAtLow } : {}), hysteresis: 0 };
}

function hashOf(text: string): number {
  let hash = 13;
  for (const c of text) hash = (hash * 31 + c.charCodeAt(0)) % 1_000_003;
  return hash;
}

function gcd(a: number, b: number): number {
  return b === 0 ? a : gcd(b, a % b);
}
