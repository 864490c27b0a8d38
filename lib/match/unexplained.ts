import type { CaptureRecord } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import { median } from "../signal/median.ts";
import { oneIn } from "../signal/oneIn.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { ALL_CODES } from "../signal/usableCodes.ts";
import { asLines, type Rereading } from "./rereadings.ts";
import { statedCycles } from "./sampleRate.ts";
import { steppedVolts } from "./steppedLevels.ts";
import type { Survey } from "./survey.ts";

/** Readings looked at: enough to tell, few enough that a hundred rereadings cost milliseconds. */
export const LOOKED_AT = 2048;

/** Codes in two readings from which on an apex stands out of the noise. */
const FAST = 32;

/** Share of the record's power that is left after each rereading; `far` for those that change the signal altogether. */
type Judge = (rereadings: readonly Pick<Rereading, "apply">[], far: boolean) => Float64Array;

/**
 * Distance of the readings looked at: neighbours of a sine, whose losses then hardly matter, but one cycle of a slow one, of which a short stretch shows a few codes only; of anything else
 * readings spread over the record.
 */
export function lookedStride(record: CaptureRecord, fit: SineFit | null): number {
  const all = Math.max(1, Math.floor(record.codes.length / LOOKED_AT));
  if (record.stimulus?.kind !== "sine") return all;
  const fastest = Math.max(fit?.cyclesPerReading ?? 0, statedCycles(record) ?? 0);
  return fastest > 0 ? Math.max(1, Math.min(all, Math.ceil(1 / (fastest * LOOKED_AT)))) : 1;
}

/** A function that says which share of the record's power the stimulus leaves unexplained after rereadings; null where nothing can be said. */
export function unexplainedBy(record: CaptureRecord, seen: Survey, fit: SineFit | null): Judge | null {
  const { stimulus, codes, scale } = record;
  const top = scale.topCode;
  const bits = 32 - Math.clz32(seen.or);
  const inner = { floor: 0, ceiling: top };
  const stride = lookedStride(record, fit);
  if (stimulus?.kind === "sine") {
    const expected = statedCycles(record);
    const starts = new Set([fit?.cyclesPerReading, expected].filter((cycles) => cycles != null));
    const cycles = Float64Array.from(starts, (c) => c * stride);
    const usable = seen.atBottom + seen.atTop > 0.01 * seen.readings ? inner : ALL_CODES;
    const looked = oneIn(stride, codes, LOOKED_AT);
    return (rereadings, far) => {
      const left = kernels.leftBySine(looked, cycles, usable, asLines(rereadings, bits), bits + 1);
      if (!far || expected !== null) return left;
      // A rereading that changes the signal altogether may show a tone where there was none, or was another: codes that wrap around have stronger harmonics than fundamental.
      return left.map((least, r) => {
        const found = fitSine(Float64Array.from(looked, rereadings[r]!.apply));
        if (found === null) return least;
        const own = Float64Array.of(found.cyclesPerReading);
        return Math.min(least, kernels.leftBySine(looked, own, usable, asLines([rereadings[r]!], bits), bits + 1)[0]!);
      });
    };
  }
  const volts = steppedVolts(record);
  if (stimulus?.kind === "ramp" || volts !== null) {
    const looked = oneIn(stride, codes);
    const x = Float64Array.from(looked, (_, i) => (volts === null ? i * stride : volts[i * stride]!));
    return (rereadings) => kernels.leftByLine(looked, x, inner, asLines(rereadings, bits), bits + 1);
  }
  if (stimulus?.kind === "triangle") {
    // Its period is not known: a straight run has no second differences, a code put together wrongly has large ones.
    const run = codes.subarray(0, 8 * LOOKED_AT);
    const turns = turnsOf(run);
    return (rereadings) => kernels.leftByBends(run, turns, asLines(rereadings, bits), bits + 1);
  }
  if (stimulus?.kind === "steady" && seen.max - seen.min > Math.min(512, (top + 1) / 2) && isSpread(seen)) {
    // Only a level that splits into both ends of the range, or into pieces of bytes, is worth rereading; it must come together again.
    const looked = codes.subarray(0, LOOKED_AT);
    return (rereadings) =>
      kernels
        .leftByLevel(looked, top / 2, asLines(rereadings, bits), bits + 1)
        .map((variance) => variance / ((top + 1) ** 2 / 12));
  }
  return null;
}

/** Whether more than one reading in ten stands away from the commonest code and its neighbours: not only a few upset ones. */
function isSpread(seen: Survey): boolean {
  if (seen.counts === null) return true;
  let near = 0;
  for (let i = 0; i < seen.counts.length; i++)
    near = Math.max(near, (seen.counts[i - 1] ?? 0) + seen.counts[i]! + (seen.counts[i + 1] ?? 0));
  return near < 0.9 * seen.readings;
}

/** Readings beside an apex of a fast triangle, 1, where the codes turn round as fast as they move: no bit does that. A slow one's noise turns round everywhere, and hides none. */
function turnsOf(codes: Int32Array): Uint8Array {
  const turns = new Uint8Array(codes.length);
  const move = (n: number): number => codes[n + 2]! - codes[n]!;
  const moves: number[] = [];
  for (let n = 0; n + 2 < codes.length; n++) moves.push(Math.abs(move(n)));
  const typical = median(moves);
  const isUsual = (m: number): boolean => m > 0.3 * typical && m < 1.5 * typical;
  if (typical < FAST) return turns;
  for (let n = 3; n + 3 < codes.length; n++) {
    const [before, after] = [move(n - 3), move(n + 1)];
    if (before * after < 0 && isUsual(Math.abs(before)) && isUsual(Math.abs(after))) turns.fill(1, n - 1, n + 2);
  }
  return turns;
}
