import type { Hertz } from "../bench/units.ts";
import { foldedFrequency } from "../match/foldedFrequency.ts";
import { harmonicPlaces } from "../measure/toneHarmonics.ts";

/** A tone that fits a whole number of its cycles into the record, or comes as near as the generator can be set. */
export interface CoherentChoice {
  /** J, whole cycles in the record. */
  readonly cycles: number;
  /** M, readings in the record. */
  readonly readings: number;
  /** J·fs/M. */
  readonly coherent: Hertz;
  /** What the generator is to be set to: `coherent` rounded to its step. */
  readonly frequency: Hertz;
  /** How many cycles the record is off a whole number at `frequency`, if both clocks are exact. */
  readonly residualCycles: number;
  /** Different points of the cycle that the record visits: M/gcd(J, M). */
  readonly distinctPhases: number;
  readonly isPrime: boolean;
}

export interface CoherentRequest {
  readonly rate: Hertz;
  readonly wanted: Hertz;
  /** The fewest readings; with `longest` the record may grow up to that many where it makes the frequency settable. */
  readonly readings: number;
  readonly longest?: number;
  /** The generator's smallest step; null or absent: any frequency. */
  readonly step?: Hertz | null;
  /** Ask for a prime number of cycles, not only one coprime with the readings. */
  readonly prime?: boolean;
}

/** How far from the wanted frequency the search goes. */
const NEAR = 0.05;
/** Candidate cycle counts tried on each side of the wanted one. */
const SIDEWAYS = 40;
/** Record lengths tried. */
const LENGTHS = 20_000;
/** Less than this is whole, whatever the record is used for: leakage of 1e-6 cycles lies below −120 dB in every bin. */
const WHOLE = 1e-6;
/** Less than this leaks less than −60 dB into the next bin. */
const NEARLY = 1e-3;

/**
 * The coherent frequency nearest the wanted one: J cycles in M readings, J and M coprime, so that every reading lands on another phase. Where the generator
 * has steps, settable frequencies come first, then those a thousandth of a cycle off; where the record may grow, lengths that make a frequency settable are
 * looked for. Among equals, the nearest to the wanted frequency, then the shortest record. Choices that fold two harmonics of 2…10 onto each other, onto the tone or
 * onto DC are taken only where there is no other.
 * @throws RangeError  a number is not positive, or readings < 2
 * Source: IEEE Std 1241-2010, coherent sampling, f = J·fs/M with J and M relatively prime.
 * @example coherentFrequency({ rate: 100e6, wanted: 44e6, readings: 2048 }).cycles // 901
 */
export function coherentFrequency(request: CoherentRequest): CoherentChoice {
  const { rate, wanted, readings, step = null, prime = false } = request;
  if (!(rate > 0 && wanted > 0 && Number.isFinite(rate / wanted)))
    throw new RangeError(`coherentFrequency: rate and wanted must be positive, in Hz; got ${rate} and ${wanted}`);
  if (!(Number.isInteger(readings) && readings >= 2))
    throw new RangeError(`coherentFrequency: readings must be a whole number from 2; got ${readings}`);
  const longest = Math.max(readings, Math.floor(request.longest ?? readings));
  const stride = Math.max(1, Math.ceil((longest - readings + 1) / LENGTHS));
  let best: { choice: CoherentChoice; rank: readonly number[] } | null = null;
  for (let m = readings; m <= longest; m += stride) {
    const target = (wanted * m) / rate;
    for (const j of cyclesNear(target, m, prime)) {
      const choice = choose(j, m, rate, step);
      const near = Math.abs(choice.frequency - wanted) / wanted;
      const rank = [
        near <= NEAR ? 0 : 1,
        wholeness(choice.residualCycles),
        0,
        // Out of the settable ones the nearest; out of the others the least off a whole cycle.
        Math.abs(choice.residualCycles) > NEARLY ? Math.abs(choice.residualCycles) : near,
        near,
        m,
      ];
      if (best !== null && !precedes(rank, best.rank)) continue;
      const crowded = [...rank];
      crowded[2] = areHarmonicsApart(j, m) ? 0 : 1;
      if (best === null || precedes(crowded, best.rank)) best = { choice, rank: crowded };
    }
  }
  // Without any coprime count in reach (M = 2 and a tone near DC), one cycle is coprime with every M.
  return best?.choice ?? choose(1, readings, rate, step);
}

/** Whole numbers coprime with m (and prime, if asked) around a target, nearest first. */
function* cyclesNear(target: number, m: number, prime: boolean): Generator<number> {
  const centre = Math.max(1, Math.round(target));
  const up = target >= centre ? 1 : -1;
  let found = 0;
  const reach = Math.max(SIDEWAYS, Math.ceil(NEAR * target));
  for (let away = 0; away <= reach && found < SIDEWAYS; away++)
    for (const j of away === 0 ? [centre] : [centre + up * away, centre - up * away]) {
      if (j < 1 || gcd(j, m) !== 1 || (prime && !isPrime(j))) continue;
      found++;
      yield j;
    }
}

function choose(cycles: number, readings: number, rate: Hertz, step: Hertz | null): CoherentChoice {
  const coherent = (cycles * rate) / readings;
  // Twelve digits are more than any generator takes, and few enough to type.
  const frequency = step === null ? Number(coherent.toPrecision(12)) : toStep(coherent, step);
  // In relative terms, so that a coherent frequency itself comes out as exactly 0.
  const residualCycles = frequency === coherent ? 0 : cycles * (frequency / coherent - 1);
  return {
    cycles,
    readings,
    coherent,
    frequency,
    residualCycles: Math.abs(residualCycles) < 1e-12 * cycles ? 0 : residualCycles,
    distinctPhases: readings / gcd(cycles, readings),
    isPrime: isPrime(cycles),
  };
}

/** A multiple of the step, in digits a person can type: 0.1·9970 is 997, not 997.0000000000001. */
function toStep(frequency: Hertz, step: Hertz): Hertz {
  return Number((Math.max(1, Math.round(frequency / step)) * step).toPrecision(14));
}

function wholeness(residual: number): number {
  const size = Math.abs(residual);
  return size <= WHOLE ? 0 : size <= NEARLY ? 1 : 2;
}

function areHarmonicsApart(cycles: number, readings: number): boolean {
  return harmonicPlaces(foldedFrequency(cycles / readings), readings).every((place) => place.state === "kept");
}

function precedes(a: readonly number[], b: readonly number[]): boolean {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return a[i]! < b[i]!;
  return false;
}

/** Greatest common divisor. Source: Euclid, Elements, book VII. */
export function gcd(a: number, b: number): number {
  while (b !== 0) [a, b] = [b, a % b];
  return a;
}

function isPrime(n: number): boolean {
  if (n < 2) return false;
  for (let d = 2; d * d <= n; d++) if (n % d === 0) return false;
  return true;
}
