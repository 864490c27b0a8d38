import type { MetricName } from "../bench/metrics.ts";
import type { Scale } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import { median } from "../signal/median.ts";
import type { Estimates } from "./measurement.ts";
import { readingsForDnl } from "./recordLength.ts";
import type { StaticErrors } from "./staticLineErrors.ts";
import type { Transitions } from "./transitions.ts";

/** A DNL that is known no better than this tells a missing code from a good one no more; LSB, 95 %. */
const USELESS_DNL = 1;
/** Readings that a code of 0.1 LSB must be expected to hold before none of them says anything, and readings a code that decide it. */
const SEEN = 3;
const ENOUGH = 60;
/** Levels known no better than this are worth no figure: 4 LSB, or a thousandth of the range. */
export function uselessLevel(bits: number): Lsb {
  return Math.max(4, 2 ** bits / 1000);
}

/**
 * Takes the value off figures that this record knows too badly to be worth stating: a figure would only look like one. Honest bounds stay, except DNL's, where
 * with so few readings a code even the bounds rest on the shape of a handful of counts.
 * @param undecided  no code is called missing, but some may be
 * @returns the estimates that are left without a value, with the reason and what would be needed
 */
export function withheld(
  estimates: Estimates,
  scale: Scale,
  tr: Transitions,
  errors: StaticErrors,
  undecided: boolean,
): Estimates {
  const left: Estimates = {};
  const leave = (name: MetricName, reason: string, bounds = true): void => {
    const had = estimates[name];
    if (had === undefined || had.value === null) return;
    left[name] = bounds
      ? { ...had, value: null, reason }
      : { ...had, value: null, reason, low: null, high: null, limits: [], shares: [] };
  };
  const useless = uselessLevel(scale.bits);
  const plusMinus = (halfWidth: Lsb): string => `±${halfWidth.toFixed(1)} LSB`;

  const dnlU = 1.96 * median(errors.dnl.subarray(0, errors.dnl.length - 1));
  if (dnlU > USELESS_DNL) {
    const needed = rounded(readingsForDnl({ bits: scale.bits, halfWidth: 0.1 }));
    const reason = `${tr.readings} readings leave the typical DNL at ${plusMinus(dnlU)}; about ${needed} needed for ±0.1 LSB`;
    leave("dnlMax", reason, false);
    leave("dnlMin", reason, false);
  }
  const perCode = median(tr.density);
  if (undecided && 0.1 * perCode < SEEN)
    leave(
      "missingCodes",
      `${tr.readings} readings, about ${perCode.toPrecision(2)} a code, cannot tell a missing code from a narrow one; about ${rounded((tr.readings * ENOUGH) / perCode)} would`,
    );
  const inlU = 1.96 * median(errors.inl);
  if (inlU > useless)
    for (const name of ["inlMax", "inlMin", "totalUnadjustedError"] as const)
      leave(name, `${tr.readings} readings leave the typical INL at ${plusMinus(inlU)}`);
  const lowU = 1.96 * errors.transitions[0]!;
  if (lowU > useless) leave("offsetAtLow", `${tr.readings} readings leave T[1] at ${plusMinus(lowU)}`);
  const { offset, gain } = errors;
  if (offset.halfWidth > useless)
    leave("offsetError", `${tr.readings} readings leave the offset at ${plusMinus(offset.halfWidth)}`);
  if ((gain.halfWidth / 100) * 2 ** scale.bits > useless)
    leave("gainError", `${tr.readings} readings leave the gain at ±${gain.halfWidth.toPrecision(2)} %`);
  return left;
}

/** A count in words: "2.5 million", "620 000". */
function rounded(readings: number): string {
  if (readings >= 1e6) return `${Number((readings / 1e6).toPrecision(2))} million`;
  return String(Number(readings.toPrecision(2))).replace(/(?<=\d)(?=(\d{3})+$)/g, " ");
}
