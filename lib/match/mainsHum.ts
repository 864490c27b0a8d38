import { realFft } from "../signal/fft.ts";
import { median } from "../signal/median.ts";
import type { Detector, MatchContext } from "./context.ts";
import { FALSE_ALARM } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import { piecewiseRemainder } from "./piecewiseRemainder.ts";
import { say } from "./say.ts";

/** Points that are transformed at most; longer records are averaged down first, as far as ten times the mains frequency stays visible. */
const MOST_POINTS = 1 << 16;
/** Mains frequency is held to about ± 0.5 % in ordinary operation of a large grid; common practice. */
const MAINS_TOLERANCE = 0.005;
const ORDERS = [1, 2, 3, 4, 5, 6, 7] as const;
/** Below this a line may be the quantiser's own: its lines of a pure tone or a slow ramp. */
const LEAST_LSB = 0.15;
/** Of a sweep the converter's own curve leaves lines as well. */
const LEAST_SWEPT_LSB = 0.6;
/** Orders of the tone whose lines are not taken for hum at all; of the higher ones up to the second only those that no curve of some LSB brings about. */
const TONE_ORDERS = { near: 10, far: 40 };
const LEAST_BESIDE_LSB = 0.6;
/** A triangle shows the converter's whole curve twice a period: lines of up to an LSB at its lower orders. */
const LEAST_BESIDE_TRIANGLE_LSB = 1.2;

interface Line {
  readonly order: number;
  readonly amplitude: number;
}

/**
 * Lines at the mains frequency and its harmonics, also aliased, in what the stimulus leaves of a record. Hann window; a line must stand out of the median
 * of its neighbourhood by what exponentially distributed powers exceed with chance FALSE_ALARM over all bins looked at, and reach 0.15 LSB.
 * The record must hold three cycles, and what a harmonic of the tone may fall on is not looked at.
 */
export const mainsHum: Detector = (context) => {
  const { record, rate } = context;
  const kind = record.stimulus?.kind;
  if (rate === null || record.codes.length < 64 || kind === undefined) return [];
  if (kind === "steps" && context.clean.length !== 1) return [];
  const left = remainder(context);
  if (left === null) return [];
  const { values, step } = left;
  const pointRate = rate.value / step;
  const power = hannPower(values);
  const least = (kind === "ramp" || kind === "triangle" ? LEAST_SWEPT_LSB : LEAST_LSB) * converterLsb(record);
  const { stimulus } = record;
  const periodic =
    stimulus?.kind === "triangle" ? (stimulus.frequency ?? 0) / rate.value : context.fit?.cyclesPerReading;
  const tone = periodic === undefined || periodic === 0 ? null : periodic * step;
  const beside = (kind === "triangle" ? LEAST_BESIDE_TRIANGLE_LSB : LEAST_BESIDE_LSB) * converterLsb(record);
  let best: { mains: number; lines: Line[]; total: number } | null = null;
  for (const mains of [50, 60]) {
    if ((mains * values.length) / pointRate < 3) continue;
    // Orders that fold onto one place are one line.
    const places = new Set<number>();
    const orders = ORDERS.filter((order) => {
      const place = Math.round(foldedFrequency((order * mains) / pointRate) * values.length);
      return !places.has(place) && places.add(place);
    });
    const lines = orders.flatMap(
      (order) => lineAt(power, values.length, (order * mains) / pointRate, order, tone, least, beside) ?? [],
    );
    // Ripple of a rectifier shows at twice the mains; higher orders alone are something else.
    if (!lines.some((l) => l.order <= 2)) continue;
    const total = lines.reduce((sum, l) => sum + l.amplitude ** 2, 0);
    if (best === null || total > best.total) best = { mains, lines, total };
  }
  if (best === null) return [];
  const { mains, lines } = best;
  const told = lines.map(({ order, amplitude }) => {
    const f = order * mains;
    const shown = foldedFrequency(f / rate.value) * rate.value;
    return `${say.lsb(amplitude)} at ${say.hertz(f)}${Math.abs(shown - f) > 1e-6 * f ? ` (aliased to ${say.hertz(shown)})` : ""}`;
  });
  return [
    {
      id: "mains-hum",
      severity: "warning",
      text: `Lines of the ${mains} Hz mains stand out of the noise: ${told.join(", ")} (amplitudes).`,
      cause:
        "Pickup from the mains: a ground loop, an unshielded lead or high-impedance input, or ripple of the supply.",
      advice:
        "Ground at one point, shield and shorten the lead, run from a battery for comparison, or average over whole mains cycles.",
      readings: [[0, record.codes.length - 1]],
      nulls: [],
    },
  ];
};

/** The record without its tone or its level and slope, averaged down to at most MOST_POINTS. */
function remainder({ record, fit, rate, clean }: MatchContext): { values: Float64Array; step: number } | null {
  const { codes, stimulus } = record;
  const [first, last] = clean.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
  const readings = last - first + 1;
  if (rate === null || readings < 64) return null;
  // Averaging must leave the seventh order of 60 Hz below half the rate of the means.
  const step = Math.max(1, Math.min(Math.floor(rate.value / 1000), Math.ceil(readings / MOST_POINTS)));
  const most = Math.min(MOST_POINTS, Math.floor(readings / step));
  // Long transforms are much faster at powers of two, and half of a long record still tells.
  const count = most > 1 << 13 ? 2 ** Math.floor(Math.log2(most)) : most;
  const values = new Float64Array(count);
  if (stimulus?.kind === "sine") {
    if (fit === null) return null;
    const omega = 2 * Math.PI * fit.cyclesPerReading;
    const top = record.scale.topCode;
    const stepC = Math.cos(omega);
    const stepS = Math.sin(omega);
    for (let i = 0; i < count; i++) {
      const start = first + i * step;
      const turns = fit.cyclesPerReading * start;
      let c = Math.cos(2 * Math.PI * (turns - Math.floor(turns)) + fit.phase);
      let s = Math.sin(2 * Math.PI * (turns - Math.floor(turns)) + fit.phase);
      let sum = 0;
      for (let n = start; n < start + step; n++) {
        const model = fit.offset + fit.amplitude * c;
        // On a rail the remainder says nothing.
        if (model > 0.5 && model < top - 0.5) sum += codes[n]! - model;
        const next = c * stepC - s * stepS;
        s = s * stepC + c * stepS;
        c = next;
      }
      values[i] = sum / step;
    }
  } else {
    const swept = stimulus?.kind === "steady" ? codes : piecewiseRemainder(record);
    if (swept === null) return null;
    for (let i = 0; i < count; i++) {
      let sum = 0;
      for (let n = first + i * step; n < first + (i + 1) * step; n++) sum += swept[n]!;
      values[i] = sum / step;
    }
  }
  takeLineOff(values);
  return { values, step };
}

function takeLineOff(values: Float64Array): void {
  const n = values.length;
  let my = 0;
  let sxy = 0;
  const middle = (n - 1) / 2;
  for (let i = 0; i < n; i++) {
    my += values[i]! / n;
    sxy += (i - middle) * values[i]!;
  }
  const slope = sxy / ((n * (n * n - 1)) / 12);
  for (let i = 0; i < n; i++) values[i]! -= my + slope * (i - middle);
}

/** Squared amplitude of a line in each bin, Hann-windowed. */
function hannPower(values: Float64Array): Float64Array {
  const n = values.length;
  const windowed = new Float64Array(n);
  for (let i = 0; i < n; i++) windowed[i] = values[i]! * (1 - Math.cos((2 * Math.PI * i) / n));
  const { re, im } = realFft(windowed);
  const power = new Float64Array(re.length);
  // The window's mean is one: a line of amplitude a has |X| = a·n/2.
  for (let k = 0; k < power.length; k++) power[k] = ((re[k]! ** 2 + im[k]! ** 2) * 4) / n ** 2;
  return power;
}

function lineAt(
  power: Float64Array,
  n: number,
  cycles: number,
  order: number,
  tone: number | null,
  least: number,
  beside: number,
): Line | null {
  const centre = foldedFrequency(cycles) * n;
  const reach = Math.max(1, cycles * n * MAINS_TOLERANCE);
  const from = Math.max(3, Math.round(centre - reach));
  const to = Math.min(power.length - 3, Math.round(centre + reach));
  if (from > to || centre < 2.5) return null;
  const near = toneBins(n, tone, 2, TONE_ORDERS.near, from - 1, to + 1);
  const far = toneBins(n, tone, TONE_ORDERS.near + 1, TONE_ORDERS.far, from - 1, to + 1);
  let peak = -1;
  for (let k = from; k <= to; k++) if (!near.has(k) && (peak < 0 || power[k]! > power[peak]!)) peak = k;
  if (peak < 0) return null;
  const around: number[] = [];
  for (let k = Math.max(2, from - 40); k <= Math.min(power.length - 2, to + 40); k++)
    if (k < from - 2 || k > to + 2 || (reach > 20 && Math.abs(k - peak) > 3)) around.push(power[k]!);
  if (around.length < 6) return null;
  // The median of an exponential is ln 2 of its mean; few neighbours know it poorly.
  const mean = (median(around) / Math.LN2) * (1 + 3 / Math.sqrt(around.length));
  const bins = to - from + 1;
  const limit = mean * Math.log((bins * ORDERS.length * 2) / FALSE_ALARM);
  if (!(power[peak]! > limit)) return null;
  // Between two bins a Hann line shows up to 1.4 dB low: the three largest bins' power makes up for it (noise bandwidth 1.5).
  const amplitude = Math.sqrt(Math.max(power[peak]!, (power[peak - 1]! + power[peak]! + power[peak + 1]!) / 1.5));
  return amplitude > Math.max(least, far.has(peak) ? beside : 0) ? { order, amplitude } : null;
}

/** Bins within the Hann window's reach of the tone, or of its harmonics from order `first` to `last`, between two bins. */
function toneBins(n: number, tone: number | null, first: number, last: number, from: number, to: number): Set<number> {
  const bins = new Set<number>();
  if (tone === null) return bins;
  for (let h = first === 2 ? 1 : first; h <= last; h++) {
    const at = foldedFrequency(h * tone) * n;
    for (let k = Math.ceil(at - 2.5); k <= at + 2.5; k++) if (k >= from && k <= to) bins.add(k);
  }
  return bins;
}
