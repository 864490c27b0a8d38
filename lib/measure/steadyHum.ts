import type { Lsb } from "../bench/units.ts";
import { foldedFrequency } from "../match/foldedFrequency.ts";
import type { MatchedRecord } from "../match/matched.ts";
import { fitSine } from "../signal/sineFit.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";
import type { SteadySurvey } from "./steadySurvey.ts";

/** Hum of the mains in a steady record, fitted together with its level and slope. */
export interface SteadyHum {
  /** What the hum adds to reading n. */
  readonly at: (n: number) => Lsb;
  /** By how much it moves the record's plain mean and slope: periods that the record does not hold whole. LSB, and LSB per reading. */
  readonly mean: Lsb;
  readonly slope: number;
}

/** Readings that the lines are fitted to at most. */
const MOST_FITTED = 1 << 17;

/**
 * Sets the lines of the mains that stand out of a steady record apart: a periodic component moves a mean of M readings by amplitude/(M·|sin(πf/fs)|) at most, while in a
 * plain autocorrelation it looks like noise that remembers itself for ever. The strongest line gives the frequency, the others are multiples of it; level, slope and
 * all lines are then fitted at once.
 * @returns null where none stands out, or readings are missing, across which the phase is not known
 */
export function steadyHum(record: MatchedRecord, survey: SteadySurvey): SteadyHum | null {
  const { hum, codes, sampleRate, clean } = record;
  const [whole] = clean;
  if (hum === null || sampleRate === null || clean.length !== 1 || whole === undefined) return null;
  const [first, last] = whole;
  const strongest = hum.lines.reduce((a, b) => (b.amplitude > a.amplitude ? b : a));
  const found = fitSine(codes, { first, last, frequency: strongest.cycles });
  if (found === null) return null;
  // Where the strongest line stands by its order, unfolded, so that the others' places follow from it.
  const nominal = (strongest.order * hum.mains) / sampleRate.value;
  const turns = Math.round(nominal);
  const cycles = (turns + Math.sign(nominal - turns) * found.cyclesPerReading) / strongest.order;
  const places = hum.lines.map((line) => foldedFrequency(line.order * cycles));

  const M = last - first + 1;
  const middle = (first + last) / 2;
  const width = 2 + 2 * places.length;
  const x = new Float64Array(width);
  const columns = (n: number): Float64Array => {
    x[0] = 1;
    x[1] = (n - middle) / M;
    places.forEach((c, i) => {
      const theta = 2 * Math.PI * c * (n - middle);
      x[2 + 2 * i] = Math.cos(theta);
      x[3 + 2 * i] = Math.sin(theta);
    });
    return x;
  };
  const H = new Float64Array(width * width);
  const g = new Float64Array(width);
  for (let n = first, stride = Math.ceil(M / MOST_FITTED); n <= last; n += stride) {
    columns(n);
    const y = codes[n]! - survey.mean;
    for (let i = 0; i < width; i++) {
      g[i]! += x[i]! * y;
      for (let j = 0; j <= i; j++) H[i * width + j]! += x[i]! * x[j]!;
    }
  }
  for (let i = 0; i < width; i++) for (let j = 0; j < i; j++) H[j * width + i] = H[i * width + j]!;
  const solved = symmetricSolve(H, g);
  if (solved === null) return null;
  return {
    at: (n) => {
      columns(n);
      let sum = 0;
      for (let i = 2; i < width; i++) sum += solved.x[i]! * x[i]!;
      return sum;
    },
    // The plain mean and slope hold what the lines leave over; the fit sets it apart.
    mean: -solved.x[0]!,
    slope: survey.slope - solved.x[1]! / M,
  };
}
