import type { LimitMetric, Stimulus } from "../bench/bench.ts";
import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Decibels } from "../bench/units.ts";
import type { Figures } from "./figure.ts";
import { significant } from "./significant.ts";

const power = (db: Decibels): number => 10 ** (db / 10);
const level = (x: number): Decibels => (x <= 0 ? Number.NEGATIVE_INFINITY : 10 * Math.log10(x));

/**
 * The best that the converter alone may be, given what the source states about its own purity: a source's distortion may add to the converter's in
 * phase, so amplitudes subtract; its noise is independent, so powers subtract.
 * @param stimulus  the capture's stimulus; only a sine has a purity
 * @returns the metric's best value in its own unit, or null where the purity does not act on the metric or is not stated
 */
export function bestWithoutSource(
  metric: LimitMetric,
  figures: Figures,
  stimulus: Stimulus | PinStimulus | null,
): number | null {
  if (stimulus === null || stimulus.kind !== "sine") return null;
  const { thd, snr } = stimulus.purity;
  const distortion = thd === null ? 0 : Math.sqrt(power(thd));
  const noise = snr === null ? 0 : power(-snr);
  const own = (amplitude: number): number => Math.max(0, amplitude - distortion);
  const figure = metric === "inl" || metric === "dnl" ? undefined : figures[metric];
  if (figure === undefined || (distortion === 0 && noise === 0)) return null;
  switch (metric) {
    case "thd":
      return figure.low === null || distortion === 0 ? null : 2 * level(own(Math.sqrt(power(figure.low))));
    case "sfdr":
      return figure.high === null || distortion === 0 ? null : -2 * level(own(Math.sqrt(power(-figure.high))));
    case "snr":
      return figure.high === null || noise === 0 ? null : -level(power(-figure.high) - noise);
    case "noiseFloor": {
      const best = figures.snr?.high ?? null;
      if (best === null || figure.low === null || noise === 0) return null;
      return figure.low + level(1 - noise / power(-best));
    }
    case "sinad":
    case "enob":
    case "enobAtLevel": {
      const best = figures.sinad?.high ?? null;
      if (best === null || figure.high === null) return null;
      const total = power(-best);
      // How much of it is distortion at most; without a THD figure, all of it may be.
      const measured = figures.thd?.high ?? figures.thd?.value ?? null;
      const share = Math.min(total, measured === null ? total : power(measured));
      const alone = Math.max(0, total - share - noise) + own(Math.sqrt(share)) ** 2;
      const gained = level(total) - level(alone);
      return figure.high + (metric === "sinad" ? gained : gained / (20 * Math.log10(2)));
    }
    default:
      return null;
  }
}

/** What the source states, and what to do about it: the remedy of a fail that the source may be the cause of. */
export function impurityRemedy(stimulus: Stimulus | PinStimulus | null): string {
  const purity = stimulus !== null && stimulus.kind === "sine" ? stimulus.purity : { thd: null, snr: null };
  const stated = [
    purity.thd === null ? null : `THD of ${significant(purity.thd, 3)} dB`,
    purity.snr === null ? null : `SNR of ${significant(purity.snr, 3)} dB`,
  ].filter((s) => s !== null);
  return `The source's own ${stated.join(" and ")} could explain the failure; a purer source (about 10 dB better than the limit) would decide.`;
}
