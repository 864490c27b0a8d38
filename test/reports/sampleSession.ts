import type { Bench, CaptureSpec } from "../../lib/bench/bench.ts";
import { METRICS, type MetricName } from "../../lib/bench/metrics.ts";
import { readBench } from "../../lib/bench/readBench.ts";
import { idealTransition, scaleOf } from "../../lib/bench/scale.ts";
import type { Log } from "../../lib/capture/log.ts";
import type { Figure, Figures, LimitRow, Verdict } from "../../lib/judge/figure.ts";
import type { Finding } from "../../lib/match/finding.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import type { Curves } from "../../lib/measure/measurement.ts";
import type { CaptureScore, SessionScore } from "../../lib/session.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { simulateCapture } from "../../lib/simulate/simulateCapture.ts";

/**
 * Sessions to render, built by hand: readings from the simulator, figures and curves set to plausible values, so that every case of a page (a
 * fail, an open interval, nulls with reasons, hostile text) can be had at will. Whether the figures are right is tested elsewhere.
 */
export type SampleName = "good" | "failing" | "undecided" | "broken" | "sixty" | "hostile" | "unreadable" | "unjudged";

const BENCH = `
title: River gauge logger, board A
conditions: { simulated: "yes", board: A-07, firmware: r3, temperature: 25 °C }
converter:
  bits: 12
  range: { low: 0 V, high: 2.5 V }
  clock: 4 MHz
  sampleCycles: 24
  conversionCycles: 15
  input: { sourceResistance: 4.7 kΩ, switchResistance: 2 kΩ, sampleCapacitance: 8 pF }
sampleRate: 50 kHz
captures:
  - name: tone
    file: tone.csv
    use: [tone]
    stimulus:
      kind: sine
      frequency: 997 Hz
      amplitude: 1.2 V
      offset: 1.25 V
      accuracy: { frequency: 20 ppm, amplitude: 0.2 %, offset: 2 mV }
      purity: { thd: -72 dB, snr: 85 dB }
  - name: ramp
    file: ramp.log
    stimulus: { kind: ramp, from: -10 mV, to: 2.4 V, accuracy: { gain: 0.1 %, offset: 1 mV, linearity: 50 ppm } }
  - name: steady
    file: steady.log
    stimulus: { kind: steady, voltage: 1.118 V, accuracy: { gain: 0.1 %, offset: 1 mV } }
  - name: steps
    file: steps.csv
    stimulus:
      kind: steps
      levels: [ { voltage: 0.25 V, readings: 100 }, { voltage: 0.75 V, readings: 100 }, { voltage: 1.25 V, readings: 100 }, { voltage: 1.75 V, readings: 100 }, { voltage: 2.25 V, readings: 100 } ]
      direction: both
limits:
  enob: { min: 10.2 }
  inl: { max: 2 }
  thd: { max: -65 }
`;

/** Text that would do harm wherever it is not escaped: markup, script, attribute ends, right-to-left override, Markdown, CSV formulas. */
export const HOSTILE = `<img src=x onerror="document.title='owned'"></script><script>document.title='owned'</script>'"&amp;\u202e=cmd|'/C'!A0 **bold** [link](http://outside.invalid/) |`;

function benchOf(yaml: string): Bench {
  const { bench, problems } = readBench(yaml, "bench.yaml");
  if (bench === null) throw new Error(problems.map((p) => p.found).join("\n"));
  return bench;
}

/** A figure with a symmetric interval. */
function figure(name: MetricName, value: number, half: number, more: Partial<Figure> = {}): Figure {
  return {
    value,
    low: value - half,
    high: value + half,
    uncertainty: half,
    unit: METRICS[name].unit,
    method: "set by hand for the page's tests",
    budget: {
      parts: [
        { from: "noise", kind: "record", halfWidth: half * 0.8 },
        { from: "source amplitude", kind: "limit", halfWidth: half * 0.6 },
      ],
      advice: "Ten times the readings would shrink it by half.",
    },
    ...more,
  };
}

/** A metric that the capture cannot show. */
function unknown(name: MetricName, reason: string): Figure {
  return { ...figure(name, 0, 0), value: null, low: null, high: null, uncertainty: null, reason };
}

function logOf(words: Int32Array, sentence: string): Log {
  return {
    dialect: {
      kind: "terminal",
      encoding: "utf-8",
      compressed: false,
      delimiter: null,
      decimal: ".",
      header: null,
      base: 10,
      sentence,
      forced: [],
    },
    channels: [{ name: "adc0", codes: words }],
    time: null,
    sequence: null,
    columns: new Map(),
    lines: words.length + 3,
    bytes: words.length * 5,
    skipped: [
      {
        reason: "boot messages",
        count: 3,
        examples: [
          { line: 1, text: "river gauge r3, built without hardware" },
          { line: 2, text: "adc0 12 bit" },
        ],
      },
    ],
    remarks: [],
  };
}

function captureOf(
  spec: CaptureSpec,
  readings: number | null,
  figures: Figures,
  curves: (codes: Int32Array) => Curves,
  findings: readonly Finding[] = [],
  sentence = "A serial terminal's log: one decimal code a line after `ADC0 = `.",
): CaptureScore {
  const simulated = simulateCapture(spec, { readings, seed: 11, converterSeed: 5 });
  const log = logOf(simulated.words, sentence);
  const matched = matchRecord({
    spec,
    log,
    channel: "adc0",
    codes: simulated.words,
    scale: scaleOf(spec.converter),
    stimulus: simulated.truth.stimulus,
    appliedVolts: null,
  });
  // Only the findings set here: the page's cases must not move when matching learns something new.
  const record = { ...matched, findings: [] };
  return {
    spec,
    sha256: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
    record,
    figures,
    findings,
    curves: curves(simulated.words),
  };
}

function toneCurves(): Curves {
  const random = seededRandom(3);
  const bins = 4096;
  const level = Float64Array.from({ length: bins }, () => -108 + 4 * random.normal());
  const binWidth = 25_000 / (bins - 1);
  const put = (f: number, db: number): void => {
    level[Math.round(f / binWidth)] = db;
  };
  put(997, -0.4);
  put(1994, -72);
  put(2991, -68.6);
  return {
    spectrum: {
      level,
      binWidth,
      inHertz: true,
      window: "four-term Blackman-Harris",
      segments: 1,
      fundamental: { frequency: 997, level: -0.4 },
      harmonics: [
        { order: 2, frequency: 1994, level: -71.6, low: -72.4, high: -70.9, note: "measured" },
        { order: 3, frequency: 2991, level: -68.2, low: -68.9, high: -67.6, note: "measured" },
        { order: 4, frequency: 3988, level: null, low: null, high: -92, note: "below its noise" },
        { order: 5, frequency: 4985, level: null, low: null, high: null, note: "not separable" },
      ],
      noiseFloorPerBin: -107,
    },
  };
}

/** A bowed converter with a step at mid-scale and its top codes untested. */
function rampCurves(peak: number): Curves {
  const scale = scaleOf({ bits: 12, low: 0, high: 2.5, firstTransition: 0.5 });
  const random = seededRandom(9);
  const n = scale.topCode;
  const tested = 3930;
  const shape = Float64Array.from({ length: n }, (_, i) => {
    const x = i / (n - 1);
    return 4 * 0.6 * x * (1 - x) + (i + 1 === 2048 ? peak - 0.6 : 0) + 0.08 * random.normal();
  });
  const blank = (v: Float64Array, last: number): Float64Array => v.map((y, i) => (i < last ? y : Number.NaN));
  const inl = blank(shape, tested);
  const volts = inl.map((e, i) => idealTransition(scale, i + 1) + (e - 1.6) * scale.lsb);
  const dnl = inl.map((e, i) => (i + 1 < n ? inl[i + 1]! - e : Number.NaN));
  const u = new Float64Array(n).fill(0.05);
  const counts = Float64Array.from({ length: n + 1 }, (_, i) =>
    i > tested ? 0 : Math.max(0, Math.round(8 * (1 + (dnl[i - 1] || 0)) + random.normal())),
  );
  const expected = Float64Array.from({ length: n + 1 }, (_, i) => (i > tested ? Number.NaN : 8));
  return {
    transitions: {
      first: 1,
      line: "endpoint",
      volts,
      voltsU: u.map((s) => s * scale.lsb),
      inl,
      inlU: u,
      dnl,
      dnlU: u.map((s) => 1.4 * s),
      missing: [2047],
      possiblyMissing: [],
    },
    histogram: { counts, expected },
  };
}

function steadyCurves(codes: Int32Array): Curves {
  const tally = new Map<number, number>();
  for (const c of codes) tally.set(c, (tally.get(c) ?? 0) + 1);
  const each = Math.max(1, Math.floor(codes.length / 32));
  const blocks = Math.floor(codes.length / each);
  const mean = Float64Array.from(
    { length: blocks },
    (_, b) => codes.subarray(b * each, (b + 1) * each).reduce((s, c) => s + c, 0) / each,
  );
  return {
    steady: {
      counts: [...tally].map(([code, count]) => ({ code, count })),
      blocks: { readingsEach: each, mean, standard: new Float64Array(blocks).fill(0.4 / Math.sqrt(each)) },
      driftPerReading: 1e-5,
    },
  };
}

function stepCurves(): Curves {
  const scale = scaleOf({ bits: 12, low: 0, high: 2.5, firstTransition: 0.5 });
  const levels = [0.25, 0.75, 1.25, 1.75, 2.25];
  const point = (applied: number, i: number, direction: "up" | "down") => ({
    applied,
    meanCode: applied / scale.lsb + 1.6 + 0.3 * Math.sin(i) + (direction === "down" ? 0.15 : 0),
    standard: 0.04,
    readings: 92,
    settling: 8,
    inl: i === 0 || i === 4 ? 0 : -0.3 * Math.sin(i),
    direction,
    note: null,
  });
  return {
    steps: {
      points: [...levels.map((v, i) => point(v, i, "up")), ...levels.map((v, i) => point(v, i, "down")).reverse()],
    },
  };
}

function row(metric: LimitRow["metric"], bound: "min" | "max", limit: number, from: Partial<LimitRow>): LimitRow {
  const { value = null, uncertainty = null } = from;
  return {
    metric,
    bound,
    limit,
    unit: metric === "inl" ? "LSB" : METRICS[metric as MetricName].unit,
    capture: "tone",
    channel: "adc0",
    value,
    low: value === null || uncertainty === null ? null : value - uncertainty,
    high: value === null || uncertainty === null ? null : value + uncertainty,
    uncertainty,
    decision: "pass",
    remedy: null,
    ...from,
  };
}

const FINDINGS: Readonly<Record<"lost" | "clipped" | "source", Finding>> = {
  lost: {
    id: "readings-lost",
    severity: "warning",
    text: "3 readings are missing at reading 9 137: the sine jumps by 21.5°.",
    cause: "A serial buffer that overflowed, or an interrupt that came too late.",
    advice: "Log with a running number, or lower the sampling rate.",
    readings: [[9137, 9138]],
    nulls: [],
  },
  clipped: {
    id: "clipped",
    severity: "error",
    text: "31 % of the readings stand at code 4095.",
    cause: "The sine reaches beyond the range.",
    advice: "Lower the amplitude below 1.2 V, or say use: [histogram].",
    readings: [[120, 4000]],
    nulls: ["thd", "snr", "enob"],
  },
  source: {
    id: "source-limited",
    severity: "note",
    text: "The source's −72 dB THD is within 4 dB of what was found.",
    cause: "The generator's own distortion.",
    advice: "Use a cleaner source or a low-pass filter.",
    readings: [],
    nulls: [],
  },
};

const NOISE: Figures = {
  noiseRms: figure("noiseRms", 0.352, 0.011),
  codeRms: figure("codeRms", 0.4541, 0.0072),
  noisePeakToPeak: figure("noisePeakToPeak", 3, 0),
  effectiveResolution: figure("effectiveResolution", 12, 0, { method: "log2(2^N/σ), capped" }),
  noiseFreeBits: figure("noiseFreeBits", 10.78, 0.045),
  meanCode: figure("meanCode", 1833.262, 2.1),
  drift: figure("drift", 0.0004, 0.0011),
};

const made = new Map<SampleName, SessionScore>();

/** One of the sample sessions; made once, since nothing that renders may change it. */
export function sampleSession(name: SampleName): SessionScore {
  const session = made.get(name) ?? makeSession(name);
  made.set(name, session);
  return session;
}

function makeSession(name: SampleName): SessionScore {
  const peak = name === "failing" || name === "hostile" ? 2.7 : 1.5;
  const hostile = name === "hostile";
  const plainBench = benchOf(BENCH);
  const bench: Bench = hostile
    ? { ...plainBench, title: HOSTILE, conditions: { board: HOSTILE, [HOSTILE]: HOSTILE } }
    : name === "sixty"
      ? { ...plainBench, title: "Sixty readings copied from a debugger (simulated)", limits: [] }
      : plainBench;
  const spec = (i: number): CaptureSpec => {
    const own = plainBench.captures[i] as CaptureSpec;
    return hostile ? { ...own, name: `${own.name} ${HOSTILE}`, file: HOSTILE } : own;
  };
  if (name === "broken") return broken(bench, spec(0));
  if (name === "sixty") return sixty(bench, spec(0));
  const tone = captureOf(
    spec(0),
    16_384,
    {
      enob: figure("enob", 10.4119, 0.0304),
      enobAtLevel: figure("enobAtLevel", 10.335, 0.031),
      sinad: figure("sinad", 63.97, 0.18),
      snr: figure("snr", 70.12, 0.12),
      thd: figure("thd", -66.4, 0.7, { low: -67.6, high: -65.9 }),
      sfdr: figure("sfdr", 68.2, 0.6),
      signalLevel: figure("signalLevel", -0.355, 0.018),
      noiseFloor: figure("noiseFloor", -114.1, 0.2),
    },
    toneCurves,
    [FINDINGS.source, ...(name === "failing" || hostile ? [FINDINGS.lost] : [])].map((f) =>
      hostile ? { ...f, text: HOSTILE, cause: HOSTILE, advice: HOSTILE } : f,
    ),
    hostile ? HOSTILE : undefined,
  );
  const captures = [
    tone,
    captureOf(
      spec(1),
      32_768,
      {
        offsetError: figure("offsetError", 1.6, 1.7),
        offsetAtLow: figure("offsetAtLow", 1.58, 0.12),
        gainError: unknown("gainError", "the ramp reaches 96 % of the transitions, codes above 3 930 not"),
        inlMax: figure("inlMax", peak, 0.15),
        inlMin: figure("inlMin", -0.21, 0.12),
        dnlMax: figure("dnlMax", peak - 0.4, 0.21, { low: peak - 0.7, high: peak - 0.3 }),
        dnlMin: figure("dnlMin", -0.97, 0.1),
        missingCodes: figure("missingCodes", 1, 0),
        totalUnadjustedError: figure("totalUnadjustedError", 2.9, 1.7),
        hysteresis: { ...unknown("hysteresis", "a single ramp shows one direction only"), high: null },
      },
      () => rampCurves(peak),
    ),
    captureOf(spec(2), 8192, NOISE, steadyCurves),
    captureOf(
      spec(3),
      null,
      {
        offsetError: figure("offsetError", 1.72, 0.4),
        gainError: figure("gainError", 0.122, 0.051),
        inlMax: figure("inlMax", 0.29, 0.11),
        inlMin: figure("inlMin", -0.27, 0.11),
        hysteresis: { ...unknown("hysteresis", "below its own uncertainty"), high: 0.21 },
      },
      stepCurves,
    ),
  ];
  const rows: LimitRow[] = [
    row("enob", "min", 10.2, { value: 10.4119, uncertainty: 0.0304 }),
    row("inl", "max", 2, {
      value: peak,
      uncertainty: 0.15,
      capture: "ramp",
      decision: peak > 2 ? "fail" : "pass",
    }),
    row("thd", "max", -65, { value: -66.4, low: -67.6, high: -65.9, uncertainty: 0.85 }),
  ];
  if (name === "undecided") {
    rows[0] = row("enob", "min", 10.4, {
      value: 10.4119,
      uncertainty: 0.0304,
      decision: "undecided",
      remedy: "About 110 000 readings (this capture has 16 384) would decide: ±0.012 bit is needed.",
    });
    rows.push(
      row("crosstalk", "max", -80, {
        capture: null,
        channel: null,
        decision: "not measured",
        remedy: "Needs a capture with a tone on a neighbouring channel.",
      }),
    );
  }
  const shown = hostile ? rows.map((r) => ({ ...r, capture: HOSTILE, remedy: HOSTILE })) : rows;
  const unreadable =
    name === "unreadable" || hostile
      ? [
          {
            spec: { ...spec(0), name: hostile ? HOSTILE : "night", file: hostile ? HOSTILE : "night.log" },
            problems: [
              {
                code: "unreadable-log",
                file: hostile ? HOSTILE : "night.log",
                line: 3,
                key: null,
                found: hostile ? HOSTILE : "no line of 412 holds a number",
                expected: "a log with at least one reading",
                next: "Look at it with codestair inspect.",
              },
            ],
          },
        ]
      : [];
  const limits = name === "unjudged" ? [] : shown;
  return { bench, captures, unreadable, verdict: verdictOf(limits) };
}

function verdictOf(limits: readonly LimitRow[]): Verdict {
  const has = (d: LimitRow["decision"]): boolean => limits.some((l) => l.decision === d);
  const decision =
    limits.length === 0
      ? "none"
      : has("fail")
        ? "fail"
        : has("undecided") || has("not measured")
          ? "undecided"
          : "pass";
  return { decision, limits };
}

/** Nothing could be measured: every metric null, the record clipped and short. */
function broken(bench: Bench, spec: CaptureSpec): SessionScore {
  const names: MetricName[] = ["enob", "sinad", "snr", "thd", "sfdr", "signalLevel", "offsetError", "inlMax", "inlMin"];
  const figures = Object.fromEntries(names.map((m) => [m, unknown(m, "31 % of the readings stand at the end codes")]));
  const capture = captureOf(spec, 4096, figures, () => ({}), [FINDINGS.clipped]);
  const limits = bench.limits.map((l) =>
    row(l.metric, l.min === null ? "max" : "min", (l.min ?? l.max) as number, {
      capture: null,
      channel: null,
      decision: "not measured",
      remedy: "Needs a sine that stays within the range.",
    }),
  );
  return {
    bench,
    captures: [{ ...capture, record: { ...capture.record, fit: null, sampleRate: null } }],
    unreadable: [],
    verdict: verdictOf(limits),
  };
}

/** Sixty readings: wide intervals, no transitions. */
function sixty(bench: Bench, spec: CaptureSpec): SessionScore {
  const capture = captureOf(
    spec,
    60,
    {
      enob: figure("enob", 10.3, 0.6, { low: 9.9, high: 11.2 }),
      sinad: figure("sinad", 63.9, 3.1, { low: 61.2, high: 68.8 }),
      snr: figure("snr", 64.2, 3.3),
      thd: { ...unknown("thd", "no harmonic stands above its noise in 60 readings"), high: -58.1 },
      inlMax: unknown("inlMax", "60 readings; about 2.5 million needed for ±0.1 LSB"),
      inlMin: unknown("inlMin", "60 readings; about 2.5 million needed for ±0.1 LSB"),
    },
    () => ({}),
    [
      {
        id: "too-few-readings",
        severity: "note",
        text: "60 readings do not reach every code.",
        cause: "The record is short.",
        advice: "Take at least 16 000 readings for a histogram.",
        readings: [[0, 59]],
        nulls: ["inlMax", "inlMin"],
      },
    ],
    "One code a line, decimal, nothing else.",
  );
  const log: Log = { ...capture.record.log, skipped: [], lines: 60 };
  return {
    bench,
    captures: [{ ...capture, record: { ...capture.record, log } }],
    unreadable: [],
    verdict: verdictOf([]),
  };
}
