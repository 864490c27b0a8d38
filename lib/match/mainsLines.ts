import type { Hertz } from "../bench/units.ts";
import type { MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import { mainsBesideTone } from "./mainsLeastSquares.ts";
import { hannPower, lineAt, MAINS_ORDERS, MAINS_TOLERANCE, type MainsLine } from "./mainsSpectrum.ts";
import { type Remainder, remainder } from "./remainder.ts";
import { takeHarmonicsOff } from "./withoutHarmonics.ts";

/** Hum as lines of one mains frequency. */
export interface MainsLines {
  /** 50 or 60 Hz. */
  readonly mains: Hertz;
  /** By order, each with its place in cycles per reading; the first or second is among them. */
  readonly lines: readonly MainsLine[];
}

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
 * @returns null where no first or second order stands out
 */
export function mainsLines(context: Omit<MatchContext, "hum">): MainsLines | null {
  const { record, rate } = context;
  const kind = record.stimulus?.kind;
  if (rate === null || kind === undefined || record.codes.length < (kind === "sine" ? 40 : 64)) return null;
  if (kind === "steps" && context.clean.length !== 1) return null;
  const left = remainder(context);
  if (left === null) return null;
  const { values, step } = left;
  const valueRate = rate.value / step;
  const linesAt = linesOf(context, left);
  let best: (MainsLines & { total: number }) | null = null;
  for (const mains of [50, 60]) {
    if ((mains * values.length) / valueRate < LEAST_CYCLES) continue;
    const lines = linesAt(mains / valueRate).map((line) => ({ ...line, cycles: line.cycles / step }));
    // Ripple of a rectifier shows at twice the mains; higher orders alone are something else.
    if (!lines.some((l) => l.order <= 2)) continue;
    const total = lines.reduce((sum, l) => sum + l.amplitude ** 2, 0);
    if (best === null || total > best.total) best = { mains, lines, total };
  }
  return best === null ? null : { mains: best.mains, lines: best.lines };
}

/** How the lines of a mains frequency (cycles a value) are found in what is left of the record. */
function linesOf(
  { record }: Omit<MatchContext, "hum">,
  { values, step, response, tone }: Remainder,
): (mains: number) => MainsLine[] {
  const kind = record.stimulus?.kind;
  const lsb = converterLsb(record);
  const least = {
    anywhere: (kind === "ramp" || kind === "triangle" ? LEAST_SWEPT_LSB : LEAST_LSB) * lsb,
    beside: (kind === "triangle" ? LEAST_BESIDE_TRIANGLE_LSB : LEAST_BESIDE_LSB) * lsb,
  };
  const cycles = tone === null ? null : tone * step;
  if (kind === "sine" && cycles !== null && values.length <= SHORT)
    return (frequency) => mainsBesideTone(values, cycles, { frequency, tolerance: MAINS_TOLERANCE }, least.beside);
  const takenOff = kind === "sine" && cycles !== null ? takeHarmonicsOff(values, cycles) : 0;
  const periodic = cycles === null ? null : { cycles, takenOff };
  const power = hannPower(values);
  if (response !== null) for (let k = 1; k < power.length; k++) power[k]! /= response(k / values.length / step);
  return (frequency) => {
    // Orders that fold onto one place are one line.
    const places = new Set<number>();
    const orders = MAINS_ORDERS.filter((order) => {
      const folded = foldedFrequency(order * frequency);
      // A line that may as well fold onto zero is no other than anything slow.
      if (folded < order * frequency * MAINS_TOLERANCE) return false;
      const place = Math.round(folded * values.length);
      return !places.has(place) && places.add(place);
    });
    return orders.flatMap((order) => lineAt(power, values.length, order * frequency, order, periodic, least) ?? []);
  };
}
