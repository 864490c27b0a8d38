import type { Use } from "../bench/bench.ts";
import type { MatchedRecord } from "../match/matched.ts";
import type { Random } from "../signal/random.ts";
import { measureCrosstalk } from "./crosstalk.ts";
import { measureHistogram } from "./histogram.ts";
import type { Measurement } from "./measurement.ts";
import { measureSteady } from "./steady.ts";
import { measureSteps } from "./steps.ts";
import { measureTone } from "./tone.ts";

type Measure = (record: MatchedRecord, random: Random) => Measurement;

/** What each stimulus lets a record show, and the `use` that asks for it alone. */
const MEASURES: Readonly<Record<string, readonly { readonly use: Use; readonly measure: Measure }[]>> = {
  sine: [
    { use: "tone", measure: measureTone },
    { use: "tone", measure: measureCrosstalk },
    { use: "histogram", measure: measureHistogram },
  ],
  ramp: [{ use: "histogram", measure: measureHistogram }],
  triangle: [{ use: "histogram", measure: measureHistogram }],
  steady: [{ use: "noise", measure: measureSteady }],
  steps: [{ use: "histogram", measure: measureSteps }],
};

/**
 * Measures all that the record supports, or only what its `use` names.
 * @returns one Measurement; metrics that the kind of stimulus cannot show are absent, those that this record cannot show are null with a reason
 */
export function measure(record: MatchedRecord, random: Random): Measurement {
  const { stimulus, spec } = record;
  const wanted = (MEASURES[stimulus?.kind ?? ""] ?? []).filter(
    ({ use }) => spec.use === null || spec.use.includes(use),
  );
  const parts = wanted.map(({ measure }) => measure(record, random));
  return {
    estimates: Object.assign({}, ...parts.map((p) => p.estimates)),
    curves: Object.assign({}, ...parts.map((p) => p.curves)),
    findings: parts.flatMap((p) => p.findings),
  };
}
