import type { Detector, MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { alongCourses } from "./driftingSine.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import { mainsBesideTone } from "./mainsLeastSquares.ts";
import { hannPower, lineAt, MAINS_ORDERS, MAINS_TOLERANCE, type MainsLine } from "./mainsSpectrum.ts";
import { piecewiseRemainder } from "./piecewiseRemainder.ts";
import { say } from "./say.ts";
import { takeHarmonicsOff } from "./withoutHarmonics.ts";

/** Points that are transformed at most; longer records are averaged down first, as far as ten times the mains frequency stays visible. */
const MOST_POINTS = 1 << 16;
/** Cycles of the mains that a record must hold. */
const LEAST_CYCLES = 3;
/** A record of up to so many values beside a tone is judged by least squares; of a longer one the spectrum shows as much. */
const SHORT = 1024;
/** Below this a line may be the quantiser's own: its lines of a pure tone or a slow ramp. */
const LEAST_LSB = 0.15;
/** Of a sweep the converter's own curve leaves lines as well. */
const LEAST_SWEPT_LSB = 0.6;
/** Higher harmonics of the tone may show so much of the converter's curve. */
const LEAST_BESIDE_LSB = 0.6;
/** A triangle shows the converter's whole curve twice a period: lines of up to an LSB at its lower orders. */
const LEAST_BESIDE_TRIANGLE_LSB = 1.2;

/**
 * Lines at the mains frequency and its harmonics, also aliased, in what the stimulus leaves of a record that holds three cycles or more. Each must have a chance below FALSE_ALARM over
 * all places looked at (mainsSpectrum, mainsLeastSquares) and reach 0.15 LSB, more where a harmonic of the tone may lie.
 */
export const mainsHum: Detector = (context) => {
  const { record, rate } = context;
  const kind = record.stimulus?.kind;
  if (rate === null || kind === undefined || record.codes.length < (kind === "sine" ? 40 : 64)) return [];
  if (kind === "steps" && context.clean.length !== 1) return [];
  const left = remainder(context);
  if (left === null) return [];
  const pointRate = rate.value / left.step;
  const linesAt = linesOf(context, left);
  let best: { mains: number; lines: MainsLine[]; total: number } | null = null;
  for (const mains of [50, 60]) {
    if ((mains * left.values.length) / pointRate < LEAST_CYCLES) continue;
    const seen = linesAt(mains / pointRate);
    // Ripple of a rectifier shows at twice the mains; higher orders alone are something else.
    if (!seen.some((l) => l.order <= 2)) continue;
    const total = seen.reduce((sum, l) => sum + l.amplitude ** 2, 0);
    if (best === null || total > best.total) best = { mains, lines: seen, total };
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

/** How the lines of a mains frequency (cycles a value) are found in what is left of the record. */
function linesOf({ record, rate, fit }: MatchContext, { values, step }: Remainder): (mains: number) => MainsLine[] {
  const { stimulus } = record;
  const kind = stimulus?.kind;
  const lsb = converterLsb(record);
  const least = {
    anywhere: (kind === "ramp" || kind === "triangle" ? LEAST_SWEPT_LSB : LEAST_LSB) * lsb,
    beside: (kind === "triangle" ? LEAST_BESIDE_TRIANGLE_LSB : LEAST_BESIDE_LSB) * lsb,
  };
  const periodic = kind === "triangle" ? (stimulus?.frequency ?? 0) / (rate?.value ?? 1) : fit?.cyclesPerReading;
  const cycles = periodic === undefined || periodic === 0 ? null : periodic * step;
  if (kind === "sine" && cycles !== null && values.length <= SHORT)
    return (frequency) => mainsBesideTone(values, cycles, { frequency, tolerance: MAINS_TOLERANCE }, least.beside);
  const takenOff = kind === "sine" && cycles !== null ? takeHarmonicsOff(values, cycles) : 0;
  const tone = cycles === null ? null : { cycles, takenOff };
  const power = hannPower(values);
  return (frequency) => {
    // Orders that fold onto one place are one line.
    const places = new Set<number>();
    const orders = MAINS_ORDERS.filter((order) => {
      const place = Math.round(foldedFrequency(order * frequency) * values.length);
      return !places.has(place) && places.add(place);
    });
    return orders.flatMap((order) => lineAt(power, values.length, order * frequency, order, tone, least) ?? []);
  };
}

interface Remainder {
  readonly values: Float64Array;
  /** Readings averaged to one value. */
  readonly step: number;
}

/** The record without its tone or its level and slope, averaged down to at most MOST_POINTS. */
function remainder({ record, fit, rate, clean, courses }: MatchContext): Remainder | null {
  const { codes, stimulus } = record;
  const [first, last] = clean.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
  const readings = last - first + 1;
  if (rate === null || readings < 40) return null;
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
    const course = alongCourses(courses, fit, [first, last]);
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
        if (model > 0.5 && model < top - 0.5) sum += codes[n]! - model - (course === null ? 0 : course(n));
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
