import type { Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import { say } from "../match/say.ts";
import {
  chiSquareQuantile,
  normalCdf,
  normalQuantile,
  standardDeviationFactors,
  tQuantile,
} from "../signal/distributions.ts";
import type { KnownCells } from "./knownCells.ts";
import type { NoiseCorrelation } from "./noiseCorrelation.ts";
import { type Cells, idealCells, type Profile, sigmaProfile } from "./noiseLikelihood.ts";
import type { SteadySurvey } from "./steadySurvey.ts";

/** Input-referred noise of a steady record, quantisation taken out. */
export interface NoiseEstimate {
  /** null when the codes bound σ on one side only. */
  readonly sigma: Lsb | null;
  readonly low: Lsb | null;
  readonly high: Lsb | null;
  readonly method: string;
  readonly reason?: string;
  /** Standard deviation of the code widths that was allowed for, how little it is known included. */
  readonly widthSd: Lsb;
  readonly shares: readonly { readonly from: string; readonly standard: number }[];
}

/** Standard deviation of code-width errors that is assumed until a record shows its own: of 4096 such codes the worst is off by 0.7 LSB (common practice). */
const ASSUMED_WIDTH_SD = 0.2;
/** How many codes' worth of evidence that assumption weighs. */
const ASSUMED_WEIGHT = 1;
/** Degrees of freedom that the assumption is given: a record that shows few codes is one in which these are narrow. */
const ASSUMED_DOF = 6;
/** Fewer independent readings than this tell a noise apart from a drift no more. */
const FEWEST_INDEPENDENT = 2;
/** From here on the codes are so many that their variance, less 1/12, says all (Sheppard). */
const MOMENTS_FROM = 3;
/** Where the codes' edges are known, counting them out is worth it further up. */
const MOMENTS_FROM_KNOWN = 8;
const UNKNOWN_WIDTHS = "unknown code widths (DNL)";
const CHI2_TWO_SIDED = chiSquareQuantile(0.95, 1);
const CHI2_ONE_SIDED = chiSquareQuantile(0.9, 1);
const Z95 = normalQuantile(0.975);

/**
 * σ of the noise at the input, about the drift line.
 * - one code only: an upper bound, from the absence of neighbours;
 * - two codes: one equation for mean and σ, so again an upper bound, from the absence of a third code;
 * - σ below 3 LSB: maximum likelihood of the counted codes, block by block along the drift line, with its likelihood interval;
 * - above: variance of the codes less 1/12 (Sheppard).
 * The converter's own code widths are not known from a steady record. Their spread is taken from the misfit of the counts where many codes
 * were seen, else assumed, and is a share of the uncertainty that no longer record removes.
 * @param known  the codes' own edges where another capture measured them; then that capture's uncertainty of them counts instead
 * Source: METHODS 4; Kulldorff 1961 (grouped likelihood); Sheppard, Proc. London Math. Soc. 29, 1898.
 */
export function noiseEstimate(
  survey: SteadySurvey,
  correlation: NoiseCorrelation,
  scale: Scale,
  known: KnownCells | null = null,
): NoiseEstimate {
  const { readings: M, smallest, largest } = survey;
  const codes = survey.counts === null ? 3 : survey.counts.reduce((sum, c) => sum + (c > 0 ? 1 : 0), 0);
  // A code may be this much wider than one LSB (95 %).
  const widest = 1 + 1.645 * (known?.widthSd ?? ASSUMED_WIDTH_SD);
  if (M < 5)
    return {
      sigma: null,
      low: null,
      high: null,
      method: "standard deviation of the readings",
      reason: `${say.plural(M, "reading")}; at least 5 are needed for a noise figure, about 60 for ±20 %`,
      widthSd: known?.widthSd ?? ASSUMED_WIDTH_SD,
      shares: [],
    };
  const worth = M / correlation.varianceInflation;
  if (codes > 2 && worth < FEWEST_INDEPENDENT)
    return {
      sigma: null,
      low: null,
      high: null,
      method: "standard deviation of the readings",
      reason: `the readings remember each other for so long that these ${M} are worth ${worth.toPrecision(2)} independent ones: what is noise and what drift cannot be told; log for longer, or less often`,
      widthSd: known?.widthSd ?? ASSUMED_WIDTH_SD,
      shares: [],
    };
  if (codes === 1) {
    // 95 % of records whose σ exceeds this would show a neighbour of the code, wherever in the code the input sits.
    const outside = 1 - 0.05 ** (1 / M);
    const [start = 0, end = 1] = known?.cells.edges ?? [];
    const width = Number.isFinite(end - start) ? end - start : 1;
    const high = (0.5 * (width - 1 + widest)) / -normalQuantile(outside / 2);
    return {
      sigma: null,
      low: null,
      high,
      method: `upper bound (95 %): all ${M} readings are code ${smallest}; independent readings assumed`,
      reason: `all ${M} readings are one code: the noise is below ${high.toPrecision(2)} LSB; to measure it, add a small ramp or set the input between two codes`,
      widthSd: known?.widthSd ?? ASSUMED_WIDTH_SD,
      shares: [],
    };
  }
  const clips = smallest <= 0 || largest >= scale.topCode;
  const isCounted = survey.blocks[0]?.counts != null;
  const from = known === null ? MOMENTS_FROM : MOMENTS_FROM_KNOWN;
  if (codes > 2 && (correlation.variance > from ** 2 || !isCounted)) {
    if (clips)
      return {
        sigma: null,
        low: null,
        high: null,
        method: "standard deviation of the codes",
        reason: `the readings touch code ${smallest <= 0 ? smallest : largest} at the end of the range, which cuts the noise off; move the input into the range`,
        widthSd: known?.widthSd ?? ASSUMED_WIDTH_SD,
        shares: [],
      };
    return byMoments(survey, correlation);
  }
  const cells = known?.cells ?? idealCells(smallest, largest, scale.topCode);
  return byLikelihood(survey, correlation, cells, codes, widest, known?.widthSd ?? null);
}

function byMoments(survey: SteadySurvey, correlation: NoiseCorrelation): NoiseEstimate {
  const { readings: M, mean, slope, smallest, largest } = survey;
  const { variance, varianceInflation, excess } = correlation;
  // Two parameters went into the drift line.
  const unbiased = (variance * M) / (M - 2);
  const dof = Math.max(1, (2 * M) / (Math.max(0.2, excess) * varianceInflation) - 2);
  const [down, up] = standardDeviationFactors(dof);
  const sigma = Math.sqrt(unbiased - 1 / 12);
  const spread =
    survey.blocks[0]?.counts == null
      ? ASSUMED_SPREAD
      : widthSpread(
          survey,
          idealCells(smallest, largest, Infinity),
          { sigma, mean, drift: slope * M },
          varianceInflation,
        );
  const widths = widthShare(spread.sd, sigma);
  const byWidths = spread.coverage * widths * sigma;
  const low = sigma - Math.hypot(sigma - Math.sqrt(Math.max(0, unbiased * down * down - 1 / 12)), byWidths);
  const high = sigma + Math.hypot(Math.sqrt(unbiased * up * up - 1 / 12) - sigma, byWidths);
  return {
    sigma,
    widthSd: (spread.sd * spread.coverage) / Z95,
    low: Math.max(0, low),
    high,
    method: "√(variance of the codes about their drift line − 1/12) (Sheppard)",
    shares: [
      { from: "number of readings", standard: sigma / Math.sqrt(2 * dof) },
      { from: UNKNOWN_WIDTHS, standard: widths * sigma },
    ],
  };
}

/**
 * Relative standard deviation of σ that independent code-width errors of spread `widthSd` bring: the noise averages the widths of the codes it
 * spans. From σ̂²−σ² = 2·Cov(y, Σ of width errors up to y) for a Gaussian, ∫φ² = 1/(2√π).
 */
function widthShare(widthSd: Lsb, sigma: Lsb): number {
  return widthSd * Math.min(1, Math.sqrt(1 / (2 * Math.sqrt(Math.PI)) / sigma));
}

function byLikelihood(
  survey: SteadySurvey,
  correlation: NoiseCorrelation,
  cells: Cells,
  codes: number,
  widest: number,
  knownSd: Lsb | null,
): NoiseEstimate {
  const { readings: M, mean, slope } = survey;
  const blocks = survey.blocks.map(({ position, counts }) => ({ position, counts: counts! }));
  const rough = Math.sqrt(Math.max(0.0025, correlation.variance - 1 / 12));
  const inflation = Math.max(1, correlation.varianceInflation);
  const drop = (codes === 2 ? CHI2_ONE_SIDED : CHI2_TWO_SIDED) * inflation;
  const profile = sigmaProfile(blocks, cells, {
    drop,
    // From too small a σ the outer codes lie so far out that the likelihood has no slope to follow: an eighth of what they enclose shows them.
    guess: Math.max(rough, (cells.edges[cells.edges.length - 2]! - cells.edges[1]!) / 7),
    mean,
    drift: slope * M,
    withDrift: M >= 8,
    // With few codes the information on the mean itself vanishes as σ does; taking that as evidence about σ would be wrong for an input fixed on a transition.
    integrated: rough > 0.45,
  });
  const { best, low, high } = profile;
  if (codes === 2 || best === null || low === null)
    return {
      sigma: null,
      low: null,
      high: high * (codes === 2 ? widest : 1),
      method: `upper bound (95 %) from the likelihood of ${codes} codes' counts`,
      reason: `the ${M} readings fall into ${codes} codes, which bounds the noise only from above: below ${(high * widest).toPrecision(2)} LSB; a sine or a slow ramp over a few codes would measure it`,
      widthSd: knownSd ?? ASSUMED_WIDTH_SD,
      shares: [],
    };
  const spread = knownSd === null ? widthSpread(survey, cells, best, inflation) : { sd: knownSd, coverage: Z95 };
  const relative = widthShare(spread.sd, best.sigma);
  // The likelihood takes readings for independent; where they are worth far fewer, χ² of that many bounds σ further up.
  const [, few] = standardDeviationFactors(Math.max(1, (2 * M) / (Math.max(0.2, correlation.excess) * inflation) - 2));
  const reach = inflation > 1.05 ? Math.max(high, Math.sqrt(correlation.variance) * few) : high;
  const down = Math.hypot(Math.log(best.sigma / low), spread.coverage * relative);
  const up = Math.hypot(Math.log(reach / best.sigma), spread.coverage * relative);
  return {
    widthSd: (spread.sd * spread.coverage) / Z95,
    sigma: best.sigma,
    low: best.sigma * Math.exp(-down),
    high: best.sigma * Math.exp(up),
    method: `maximum likelihood of the counts of ${codes} codes about the drift line, likelihood interval${knownSd === null ? "" : ", code widths as measured"}${inflation > 1.05 ? `, widened for correlated readings (×${Math.sqrt(inflation).toPrecision(2)})` : ""}`,
    shares: [
      { from: "number of readings", standard: (best.sigma * Math.log(reach / low)) / (2 * Z95) },
      {
        from: knownSd === null ? UNKNOWN_WIDTHS : "code widths as measured in another capture",
        standard: best.sigma * relative,
      },
    ],
  };
}

interface WidthSpread {
  readonly sd: Lsb;
  /** Turns it into 95 %: Student's t, for it is itself only an estimate. */
  readonly coverage: number;
}

const ASSUMED_SPREAD: WidthSpread = { sd: ASSUMED_WIDTH_SD, coverage: tQuantile(0.975, ASSUMED_DOF) };

/** Standard deviation of the code widths: what the counts misfit beyond chance, weighed against what is assumed of any converter. */
function widthSpread(
  survey: SteadySurvey,
  cells: Cells,
  fit: Pick<Profile, "sigma" | "mean" | "drift">,
  inflation: number,
): WidthSpread {
  const { counts } = survey;
  if (counts === null) return ASSUMED_SPREAD;
  const expected = new Float64Array(counts.length);
  for (const block of survey.blocks) {
    const centre = fit.mean + fit.drift * block.position;
    for (let i = 0; i < expected.length; i++)
      expected[i]! +=
        block.readings *
        (normalCdf((cells.edges[i + 1]! - centre) / fit.sigma) - normalCdf((cells.edges[i]! - centre) / fit.sigma));
  }
  let misfit = 0;
  let used = 0;
  let weight = 0;
  for (let i = 0; i < expected.length; i++) {
    const e = expected[i]!;
    if (e < 8) continue;
    misfit += (counts[i]! - e) ** 2 / e / inflation;
    weight += e / inflation;
    used++;
  }
  const dof = used - 3;
  if (dof < 1) return ASSUMED_SPREAD;
  // Each count's relative excess is its code's width error plus chance; the fit takes three freedoms out.
  const seen = Math.max(0, misfit - dof) / ((weight * dof) / used);
  // Evidence counts by how plainly an assumed spread would have shown.
  const plain = ((weight / used) * ASSUMED_WIDTH_SD ** 2) ** 2;
  const evidence = dof * (plain / (1 + plain));
  return {
    sd: Math.sqrt((ASSUMED_WEIGHT * ASSUMED_WIDTH_SD ** 2 + evidence * seen) / (ASSUMED_WEIGHT + evidence)),
    coverage: tQuantile(0.975, ASSUMED_DOF + evidence),
  };
}
