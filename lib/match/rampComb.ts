import { realFft } from "../signal/fft.ts";
import { median } from "../signal/median.ts";
import { nextPowerOfTwo } from "../signal/powerOfTwoFft.ts";
import { FALSE_ALARM } from "./context.ts";
import { LINEARITY_ALLOWANCE } from "./sweepJumps.ts";
import type { Moving } from "./sweepStep.ts";

/** The same jump of a ramp at every turn of a buffer. */
export interface RampComb {
  /** Readings from one jump to the next, and the first reading after the first jump. */
  readonly every: number;
  readonly first: number;
  /** Codes of one jump, and the same as readings. */
  readonly codes: number;
  readonly readings: number;
}

/** Readings looked at: losses at every turn show in the beginning of a long record as well. */
const MOST_READINGS = 1 << 15;
const FEWEST_READINGS = 256;
const LEAST_TURNS = 4;
const SHORTEST = 16;
/** Lines of the spectrum from which a period is tried, strongest first; and readings that are folded before the search is given up. */
const LINES = 4;
const MOST_WORK = 2e7;
/** Share of the folded course that a sawtooth must explain: of a sine it explains six tenths, of losses all but the noise. */
const SAWTOOTH = 0.75;
/** Share of the jump that must be there between the readings next to it, a 64th of a period on either side: hum with its harmonics leans like a sawtooth, but takes a tenth of a period to turn. */
const AT_ONCE = 0.6;
const BESIDE = 64;
/** Codes between jumps that are a power of two are the converter's own bits, unless a jump is larger than they err. */
const BITS = { within: 0.01, codes: 4 };

/**
 * Readings lost at every turn of a buffer, seen in a ramp whose single jumps noise hides. A line through the whole leaves a sawtooth; its period is read from the spectrum, and
 * each whole period near it is tried by folding what is left of the ramp, freed of its slower course by a mean over one period, and held against a sawtooth that begins anywhere:
 * the sum of products falls by what each reading leaves as the beginning moves on.
 * Threshold: the jump must exceed what a converter's own curve may hold by so many standard errors that chance is FALSE_ALARM over all periods and beginnings.
 * One transform of at most 32 768 readings, where a slow course is left; folding only where a line stands out.
 */
export function rampComb(codes: Int32Array, { floor, ceiling }: Moving, lsb: number): RampComb | null {
  let from = 0;
  while (from < codes.length && !(codes[from]! > floor && codes[from]! < ceiling)) from++;
  let to = codes.length;
  while (to > from && !(codes[to - 1]! > floor && codes[to - 1]! < ceiling)) to--;
  const count = Math.min(MOST_READINGS, to - from);
  if (count < FEWEST_READINGS) return null;
  const { left, slope } = aboutLine(codes, from, count);
  const direction = Math.sign(slope);
  const least = LINEARITY_ALLOWANCE.ahead * lsb;
  // Most ramps leave no more than their readings differ from one to the next: no room for a sawtooth, which leaves a twelfth of its jump's square.
  if (slowVariance(left) < (0.8 * least ** 2) / 12) return null;
  let best: (Folded & { every: number }) | null = null;
  let work = 0;
  let trials = 0;
  for (const { period, doubt } of periodsOf(left, least)) {
    const last = Math.min(count / LEAST_TURNS, period + doubt);
    for (let every = Math.max(SHORTEST, Math.floor(period - doubt)); every <= last && work < MOST_WORK; every++) {
      work += count;
      trials += every;
      const found = fold(left, every, direction);
      if (best === null || found.explained > best.explained) best = { ...found, every };
    }
  }
  if (best === null || !(best.share > SAWTOOTH) || !(best.atOnce > AT_ONCE * best.jump)) return null;
  const { every, jump, standard } = best;
  if (!isAtEachTurn(left, best, direction)) return null;
  if (!(jump > least + Math.sqrt(2 * Math.log(trials / FALSE_ALARM)) * standard)) return null;
  const advance = Math.abs(slope) - jump / every;
  const readings = Math.round(jump / advance);
  if (!(advance > 0) || readings < 1) return null;
  if (Math.abs(jump / advance - readings) > 0.25 + (3 * standard) / advance) return null;
  const turn = Math.log2((Math.abs(slope) * every) / lsb);
  if (Math.abs(turn - Math.round(turn)) < BITS.within * Math.LOG2E && jump < BITS.codes * lsb) return null;
  const start = from + best.start;
  const first = ((start - 1) % every) + 1;
  return { every, first: first === 0 ? every : first, codes: jump, readings };
}

/** Codes about their least-squares line. */
function aboutLine(codes: Int32Array, from: number, count: number): { left: Float64Array; slope: number } {
  const middle = (count - 1) / 2;
  let mean = 0;
  let sxy = 0;
  for (let i = 0; i < count; i++) {
    mean += codes[from + i]! / count;
    sxy += (i - middle) * codes[from + i]!;
  }
  const slope = sxy / ((count * (count ** 2 - 1)) / 12);
  return {
    left: Float64Array.from({ length: count }, (_, i) => codes[from + i]! - mean - slope * (i - middle)),
    slope,
  };
}

/** Share of the mean jump that is usual: a few single losses leave most turns without one. */
const USUAL = 0.6;

function isAtEachTurn(
  left: Float64Array,
  { every, start, jump }: Folded & { every: number },
  direction: number,
): boolean {
  const width = every >> 1;
  const jumps: number[] = [];
  for (let at = start; at + width <= left.length; at += every) {
    if (at < width) continue;
    let sum = 0;
    for (let i = 0; i < width; i++) sum += left[at + i]! - left[at - 1 - i]!;
    jumps.push((direction * sum) / width);
  }
  // Between jumps the ramp falls back behind its line: half of a jump is left between the means of half a period.
  return median(jumps) > (USUAL * jump) / 2;
}

/** Variance beyond that of neighbours' differences (von Neumann 1941). */
function slowVariance(left: Float64Array): number {
  let squares = 0;
  let differences = 0;
  for (let i = 1; i < left.length; i++) {
    squares += left[i]! ** 2;
    differences += (left[i]! - left[i - 1]!) ** 2 / 2;
  }
  return (squares - differences) / left.length;
}

/** Periods of the strongest lines that a sawtooth with a jump of `least` or more could have, and how far off they may be. */
function periodsOf(left: Float64Array, least: number): { period: number; doubt: number }[] {
  const count = left.length;
  const size = nextPowerOfTwo(count);
  const windowed = new Float64Array(size);
  for (let i = 0; i < count; i++) windowed[i] = left[i]! * (1 - Math.cos((2 * Math.PI * (i + 0.5)) / count));
  const { re, im } = realFft(windowed);
  const amplitude = (k: number): number => (2 * Math.hypot(re[k]!, im[k]!)) / count;
  const lines: { k: number; size: number }[] = [];
  // A sawtooth's first line is 1/π of its jump; half of it is left where it falls between bins.
  for (let k = Math.floor((LEAST_TURNS * size) / count); k < size / SHORTEST && k + 1 < re.length; k++) {
    const a = amplitude(k);
    if (a > (0.5 * least) / Math.PI && a >= amplitude(k - 1) && a > amplitude(k + 1)) lines.push({ k, size: a });
  }
  lines.sort((a, b) => b.size - a.size);
  return lines.slice(0, LINES).map(({ k }) => ({ period: size / k, doubt: 1 + (size / k) * (size / count / k) }));
}

interface Folded {
  /** Place of the jump in the stretch, below one period. */
  readonly start: number;
  readonly jump: number;
  readonly standard: number;
  /** Of the folded course's squares by the sawtooth, all turns together, and its share. */
  readonly explained: number;
  readonly share: number;
  /** What of the jump is there between the readings next to it. */
  readonly atOnce: number;
}

/** What is left of a ramp, folded over one period, against the sawtooth that fits best. */
function fold(left: Float64Array, every: number, direction: number): Folded {
  const count = left.length;
  const sums = new Float64Array(every);
  const turns = Math.floor(count / every) - 1;
  const half = every >> 1;
  let around = 0;
  for (let i = 0; i < every; i++) around += left[i]!;
  // From the middle of the first period on, as many whole turns as have a mean about them.
  for (let i = 0; i < turns * every; i++) {
    sums[(i + half) % every]! += left[i + half]! - around / every;
    around += left[i + every]! - left[i]!;
  }
  let mean = 0;
  for (const sum of sums) mean += sum / every / turns;
  let squares = 0;
  let product = 0;
  for (let j = 0; j < every; j++) {
    const m = direction * (sums[j]! / turns - mean);
    sums[j] = m;
    squares += m * m;
    product += m * (0.5 - (j + 0.5) / every);
  }
  let best = product;
  let start = 0;
  for (let j = 0; j < every; j++) {
    if (product > best) [best, start] = [product, j];
    product -= sums[j]!;
  }
  const weight = (every ** 2 - 1) / (12 * every);
  const explained = best > 0 ? (best * best) / weight : 0;
  const rest = Math.max(1e-12, squares - explained);
  return {
    start,
    jump: best / weight,
    standard: Math.sqrt(rest / Math.max(1, every - 2) / weight),
    explained: turns * explained,
    share: explained / (explained + rest),
    atOnce: atOnce(sums, start),
  };
}

/** Largest step of the folded course within two readings of a place, between means of its neighbours. */
function atOnce(course: Float64Array, start: number): number {
  const every = course.length;
  const width = Math.max(1, Math.floor(every / BESIDE));
  let most = Number.NEGATIVE_INFINITY;
  for (let place = start - 2; place <= start + 2; place++) {
    let step = 0;
    for (let i = 0; i < width; i++)
      step += course[(place + i + every) % every]! - course[(place - 1 - i + 2 * every) % every]!;
    most = Math.max(most, step / width);
  }
  return most;
}
