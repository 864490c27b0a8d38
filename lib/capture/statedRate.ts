import type { Hertz } from "../bench/units.ts";

const RATE = /sampl(?:e|ing)[\s_-]*(?:rate|freq(?:uency)?)?|\bfs\b|abtastrate/i;
const VALUE = /[:=\s]\s*(\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)\s*(k|M)?\s*(Hz|S\/s|sps|SPS|samples\/s)?/;

/**
 * A sampling rate that a line of text states: `# Sampling Rate (Hz):= 1000.00`, `Sample rate: 50 kHz`.
 * @returns null unless the line names a rate and a unit of frequency stands with it
 */
export function statedRate(text: string): Hertz | null {
  const named = RATE.exec(text);
  if (named === null) return null;
  const rest = text.slice(named.index + named[0].length);
  const unitBefore = /^[^\d]*\((k|M)?(?:Hz|S\/s|sps)\)/i.exec(rest);
  const m = VALUE.exec(` ${rest.slice(unitBefore?.[0].length ?? 0)}`);
  if (m === null || (unitBefore === null && m[3] === undefined)) return null;
  const prefix = unitBefore?.[1] ?? m[2];
  const value = Number(m[1]) * (prefix === "k" ? 1e3 : prefix === "M" ? 1e6 : 1);
  return value > 0 && value < 1e12 ? value : null;
}
