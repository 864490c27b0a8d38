/** Readings that the chance is taken from elsewhere, at most. */
const MOST_SAMPLED = 8192;
/** Readings of a block that are asked; more of them say no more. */
const MOST_ASKED = 256;
/** Readings to either side of the lag that are looked at nearby. */
const NEARBY = 12;
/** Pairs from which a code has a chance of its own; rarer ones have one together. */
const OWN_CHANCE = 20;

/**
 * −ln of the chance that readings first…last agree with those `lag` before without any repetition. How often a reading agrees is measured in the record itself, for each code that
 * stood before by itself, so that in a quiet record the rare codes say most: at the same lag elsewhere, which knows a period of the signal, and within the same
 * readings at neighbouring lags, which knows their level. The less telling of both counts. For independent readings the product of 1/p over agreeing ones is a martingale of mean
 * one, so that it exceeds e^s anywhere along a run with chance e^−s (Ville 1939).
 * @param needed       evidence that counts; the rest is not worked out where the first half falls short of it
 * @param isSentAgain  whether agreement at the same lag elsewhere is that of further copies
 */
export function evidenceAgainstChance(
  codes: Int32Array,
  first: number,
  last: number,
  lag: number,
  needed: number,
  isSentAgain: (lag: number) => boolean = () => false,
): number {
  const until = Math.min(last, first + MOST_ASKED - 1);
  const nearby = new Agreement();
  for (let shift = 1; shift <= NEARBY; shift++)
    for (const d of [lag - shift, lag + shift])
      for (let i = first; i <= until; i++) if (d > 0 && i - d >= 0) nearby.add(codes[i - d]!, codes[i]!);
  const own = nearby.evidence(codes, first, until);
  if (own < needed) return own;
  const elsewhere = new Agreement();
  const stride = Math.max(1, Math.floor((codes.length - lag) / MOST_SAMPLED));
  for (let i = lag + 1; i < codes.length; i += stride)
    if (i < first || i > last) elsewhere.add(codes[i - lag]!, codes[i]!);
  const there = elsewhere.evidence(codes, first, until);
  return there < needed && last - first + 1 >= RUN && isSentAgain(lag) ? own : Math.min(own, there);
}

/** Agreeing readings on end that count as a run, pairs outside runs that must be there, and the share of them that may agree. */
const RUN = 64;
const LEAST_OUTSIDE = 100;
const HARDLY_ANY = 0.05;

/**
 * Whether readings agree with those `lag` before all or hardly at all: in long runs without exception, and next to never outside them. So does a buffer that is sent again and again, of which agreement
 * elsewhere says nothing; a signal of that period would agree nearly everywhere or, with noise, nowhere for long.
 */
export function isAllOrNothing(codes: Int32Array, lag: number): boolean {
  let [agree, of, run] = [0, 0, 0];
  for (let i = lag; i <= codes.length; i++) {
    if (i < codes.length && codes[i] === codes[i - lag]) {
      run++;
      continue;
    }
    of += run < RUN ? run : 0;
    agree += run < RUN ? run : 0;
    if (i < codes.length) of++;
    run = 0;
  }
  return of >= LEAST_OUTSIDE && agree <= HARDLY_ANY * of;
}

/** How often readings elsewhere agree with those `lag` before, whatever their code; upper estimate. */
export function agreementElsewhere(codes: Int32Array, first: number, last: number, lag: number): number {
  let agree = 0;
  let of = 0;
  const stride = Math.max(1, Math.floor((codes.length - lag) / MOST_SAMPLED));
  for (let i = lag + 1; i < codes.length; i += stride) {
    if (i >= first && i <= last) continue;
    of++;
    if (codes[i] === codes[i - lag]) agree++;
  }
  return of < OWN_CHANCE ? 1 : upperShare(agree, of, 2);
}

/** Upper estimate of a chance seen `agree` times in `of`: some standard deviations and one more. */
function upperShare(agree: number, of: number, deviations: number): number {
  return Math.min(1, (agree + deviations * Math.sqrt(agree + 1) + 1) / (of + 1));
}

/** Cells in which pairs are counted; codes so far apart share one, which a level never has both of. */
const CELLS = 256;

/** Pairs of readings by the code of the earlier one: how many, and how many agree. */
class Agreement {
  private readonly of = new Int32Array(CELLS);
  private readonly agree = new Int32Array(CELLS);

  add(before: number, now: number): void {
    const cell = before & (CELLS - 1);
    this.of[cell]!++;
    if (before === now) this.agree[cell]!++;
  }

  /** −Σ ln of the chance that each of these readings agrees with one of its code. */
  evidence(codes: Int32Array, first: number, last: number): number {
    let [rareOf, rareAgree] = [0, 0];
    for (let cell = 0; cell < CELLS; cell++)
      if (this.of[cell]! < OWN_CHANCE) {
        rareOf += this.of[cell]!;
        rareAgree += this.agree[cell]!;
      }
    const rare = rareOf < OWN_CHANCE ? 0 : -Math.log(upperShare(rareAgree, rareOf, 1));
    const told = new Float64Array(CELLS).fill(Number.NaN);
    let sum = 0;
    for (let i = first; i <= last; i++) {
      const cell = codes[i]! & (CELLS - 1);
      if (Number.isNaN(told[cell]))
        told[cell] = this.of[cell]! < OWN_CHANCE ? rare : -Math.log(upperShare(this.agree[cell]!, this.of[cell]!, 1));
      sum += told[cell]!;
    }
    return sum;
  }
}
