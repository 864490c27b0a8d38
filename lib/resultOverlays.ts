import { kernels } from "./kernels/kernels.generated.js";
import type { Curves } from "./measure/measurement.ts";
import type { ResultCapture } from "./result.ts";

/** A spectrum in a result keeps at most this many lines: enough to lay two over each other, little enough for a file. */
const MOST_LINES = 600;
const MOST_CODES = 400;

/** The curves that compare lays over each other, thinned: of each group of neighbouring bins the largest, of the code counts all that are near the mean. */
export function resultOverlays({ spectrum, steady }: Curves): Pick<ResultCapture, "spectrum" | "codeCounts"> {
  return {
    spectrum: spectrum === undefined ? null : thinned(spectrum),
    codeCounts: steady === undefined || steady.counts.length > MOST_CODES ? null : countsOf(steady.counts),
  };
}

function thinned({ level, binWidth, inHertz }: NonNullable<Curves["spectrum"]>): ResultCapture["spectrum"] {
  const group = Math.max(1, Math.ceil(level.length / MOST_LINES));
  const frequencies: number[] = [];
  const levels: number[] = [];
  for (const place of kernels.largestPlaces(level, group)) {
    frequencies.push(Number((place * binWidth).toPrecision(8)));
    levels.push(Number(level[place]!.toFixed(2)));
  }
  return { frequencies, levels, unit: inHertz ? "Hz" : "cycles/reading" };
}

function countsOf(counts: NonNullable<Curves["steady"]>["counts"]): ResultCapture["codeCounts"] {
  return { codes: counts.map((c) => c.code), counts: counts.map((c) => c.count) };
}
