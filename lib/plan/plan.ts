import type { Bench, CaptureSpec } from "../bench/bench.ts";
import { scaleOf } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import { type LimitPlan, limitPlans } from "./limitPlan.ts";
import { type CapturePlan, planCapture } from "./planCapture.ts";
import { planSettings, type SettingPlan } from "./planSettings.ts";
import { readingTime } from "./readingTime.ts";
import { type Remark, remarksOf } from "./remarks.ts";

/** What a person knows before the first reading is taken; `plan --json` writes it as it stands. */
export interface Plan {
  readonly schema: "codestair-plan/1";
  readonly title: string;
  /** One a converter setting: captures that share converter, rate and scan share it. */
  readonly settings: readonly SettingPlan[];
  readonly captures: readonly CapturePlan[];
  readonly limits: readonly LimitPlan[];
  readonly noise: { readonly lsb: Lsb; readonly basis: string };
  /** Of one figure: one code's width, one transition, one mean. */
  readonly confidence: number;
  /** Confidence of one code at which all codes together hold at `confidence` (Bonferroni): what the largest of all, inlMax or dnlMax, needs. */
  readonly confidenceForAllCodes: number;
  readonly remarks: readonly Remark[];
  /** ready; trouble: something will not work as set; undecidable: a limit cannot be decided with this bench. */
  readonly state: "ready" | "trouble" | "undecidable";
}

export interface PlanOptions {
  /** Readings of each record; null: the bench file's, else what the limits need. */
  readonly readings?: number | null;
  readonly prime?: boolean;
  /** ± LSB aimed at; null: a tenth of each limit. */
  readonly tolerance?: Lsb | null;
  readonly confidence?: number;
  /** σ at the input; null: the noise limit, else half an LSB. */
  readonly noise?: Lsb | null;
  /** Show this capture alone; the limits are still given to whichever capture judges them best. */
  readonly only?: string | null;
}

/** Half an LSB: what a sound converter of up to 12 bits often shows, and enough to dither it. */
const TYPICAL_NOISE: Lsb = 0.5;

/**
 * Plans a session from its bench file alone: rate, frequency, record lengths, settling, noise bounds, serial line, pin, and what each limit takes.
 * What the bench file does not say is left out of the plan, and a remark names the key that would bring it in.
 */
export function planBench(bench: Bench, options: PlanOptions = {}): Plan {
  const noise = planningNoise(bench, options.noise ?? null);
  const confidence = options.confidence ?? 0.95;
  const rateOf = (spec: CaptureSpec): number | null => readingTime(spec)?.rate ?? null;
  const allLimits = limitPlans(bench, { tolerance: options.tolerance ?? null, confidence, noise: noise.lsb, rateOf });
  const only = options.only ?? null;
  const shown = (name: string | null): boolean => only === null || name === only;
  const limits = allLimits.filter((limit) => shown(limit.capture));
  const own: Bench = { ...bench, captures: bench.captures.filter((spec) => shown(spec.name)) };
  const settings = planSettings(own);
  const captures = own.captures.map((spec) =>
    planCapture(spec, bench, allLimits, { ...options, noise: noise.lsb, tolerance: options.tolerance ?? null }),
  );
  const remarks = remarksOf(own, settings, captures, limits);
  const has = (severity: Remark["severity"]): boolean => remarks.some((r) => r.severity === severity);
  return {
    schema: "codestair-plan/1",
    title: bench.title,
    settings,
    captures,
    limits,
    noise,
    confidence,
    confidenceForAllCodes: 1 - (1 - confidence) / (scaleOf(bench.converter).topCode + 1),
    remarks,
    state: has("trouble") ? "trouble" : has("undecidable") ? "undecidable" : "ready",
  };
}

function planningNoise(bench: Bench, asked: Lsb | null): Plan["noise"] {
  if (asked !== null) return { lsb: asked, basis: "as given" };
  const limit = bench.limits.find(({ metric, max }) => metric === "noiseRms" && max !== null && max > 0);
  if (limit?.max) return { lsb: limit.max, basis: "the noiseRms limit" };
  // An averaged code's noise is the average's; half an LSB of the logged code is still the assumption.
  return { lsb: TYPICAL_NOISE, basis: `assumed, of ${scaleOf(bench.converter).bits.toFixed(0)}-bit codes` };
}
