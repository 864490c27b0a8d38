import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";
import { sineAtFrequency } from "../signal/sineAtFrequency.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { RunningLine } from "./runningLine.ts";
import { expectedCycles } from "./sampleRate.ts";
import { steppedVolts } from "./steppedLevels.ts";
import type { Survey } from "./survey.ts";

/** Readings looked at: enough to tell, few enough that a hundred rereadings cost milliseconds. */
export const LOOKED_AT = 2048;

/** Codes in two readings from which on an apex stands out of the noise. */
const FAST = 32;

/** Share of the record's power that is left after a rereading; `far` for one that changes the signal altogether. */
type Judge = (apply: (code: number) => number, far: boolean) => number;

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

/** Where the tone is stated to be, cycles per reading. */
function statedCycles({ stimulus, spec }: CaptureRecord): number | null {
  if (stimulus?.kind !== "sine" || stimulus.frequency === null || spec.sampleRate === null) return null;
  return expectedCycles(stimulus.frequency, spec.sampleRate);
}

/** A function that says which share of the record's power the stimulus leaves unexplained after a rereading; null where nothing can be said. */
export function unexplainedBy(record: CaptureRecord, seen: Survey, fit: SineFit | null): Judge | null {
  const { stimulus, codes, scale } = record;
  const count = Math.min(codes.length, LOOKED_AT);
  const top = scale.topCode;
  if (stimulus?.kind === "sine") {
    const starts = new Set<number>();
    if (fit !== null) starts.add(fit.cyclesPerReading);
    const expected = statedCycles(record);
    const isExpected = expected !== null;
    if (isExpected) starts.add(expected);
    const railed = seen.atBottom + seen.atTop > 0.01 * seen.readings;
    const use = (y: number): boolean => !railed || (y > 0 && y < top);
    const stride = lookedStride(record, fit);
    return (apply, far) => {
      const values = new Float64Array(count);
      let used = 0;
      for (let n = 0; n < count; n++) if (use(codes[n * stride]!)) used++;
      if (used < 16) return 1;
      for (let n = 0; n < count; n++) values[n] = apply(codes[n * stride]!);
      let least = 1;
      const leave = railed ? (n: number): boolean => !use(codes[n * stride]!) : null;
      for (const cycles of starts) least = Math.min(least, shareLeft(values, cycles * stride, leave));
      // A rereading that changes the signal altogether may show a tone where there was none, or was another: codes that wrap around have stronger harmonics than fundamental.
      if (far && !isExpected) {
        const found = fitSine(values);
        if (found) least = Math.min(least, shareLeft(values, found.cyclesPerReading, leave));
      }
      return least;
    };
  }
  if (stimulus?.kind === "ramp") {
    const stride = Math.max(1, Math.floor(codes.length / LOOKED_AT));
    const inner = (y: number): boolean => y > 0 && y < top;
    return (apply) => {
      const line = new RunningLine();
      for (let n = 0; n < codes.length; n += stride) if (inner(codes[n]!)) line.add(n, apply(codes[n]!));
      return line.unexplained();
    };
  }
  const volts = steppedVolts(record);
  if (volts !== null) {
    const stride = Math.max(1, Math.floor(codes.length / LOOKED_AT));
    return (apply) => {
      const line = new RunningLine();
      for (let n = 0; n < codes.length; n += stride)
        if (codes[n]! > 0 && codes[n]! < top && Number.isFinite(volts[n]!)) line.add(volts[n]!, apply(codes[n]!));
      return line.unexplained();
    };
  }
  if (stimulus?.kind === "triangle") {
    // Its period is not known: a straight run has no second differences, a code put together wrongly has large ones.
    const run = Math.min(codes.length, 8 * LOOKED_AT);
    const turns = turnsOf(codes.subarray(0, run));
    return (apply) => {
      let bends = 0;
      let used = 0;
      let mean = 0;
      let squares = 0;
      let before = apply(codes[0]!);
      let here = apply(codes[1]!);
      for (let n = 2; n < run; n++) {
        const next = apply(codes[n]!);
        if (turns[n - 1] === 0) {
          bends += (next - 2 * here + before) ** 2;
          used++;
        }
        const delta = next - mean;
        mean += delta / (n - 1);
        squares += delta * (next - mean);
        before = here;
        here = next;
      }
      return squares > 0 && used > 16 ? ((bends / used) * (run - 2)) / 6 / squares : 1;
    };
  }
  if (stimulus?.kind === "steady" && seen.max - seen.min > Math.min(512, (top + 1) / 2) && isSpread(seen))
    // Only a level that splits into both ends of the range, or into pieces of bytes, is worth rereading; it must come together again.
    return (apply) => {
      let sum = 0;
      let squares = 0;
      for (let n = 0; n < count; n++) {
        const y = apply(codes[n]!) - top / 2;
        sum += y;
        squares += y * y;
      }
      return (squares - (sum * sum) / count) / count / ((top + 1) ** 2 / 12);
    };
  return null;
}

/** 1 − R² of a sine of known frequency. */
function shareLeft(values: Float64Array, cycles: number, leave: ((n: number) => boolean) | null): number {
  const sine = sineAtFrequency(values, 0, values.length - 1, cycles, 0, values[0]!, leave);
  return sine !== null && sine.total > 0 ? sine.left / sine.total : 1;
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
