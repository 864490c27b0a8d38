import { kernels } from "../kernels/kernels.generated.js";
import { piecesOf, readingsOf } from "../signal/readingsOf.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { ALL_CODES, type UsableCodes } from "../signal/usableCodes.ts";
import type { Detector } from "./context.ts";
import { jointPhases } from "./jointPhases.ts";
import { TONE_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";
import { undistorted, withoutDistortion } from "./withoutDistortion.ts";

/** Blocks, of whole cycles where the record has so many, and the least readings in one. */
const MOST_BLOCKS = 1024;
const LEAST_BLOCKS = 8;
const SHORTEST = 16;
/** Readings of a block that are looked at, or a cycle's: white noise moves their phase by a few thousandths of what is left. */
const ENOUGH = 512;
/** Share of what the sine leaves that the phase of the blocks must account for: without it, SINAD would be 1.2 dB better. */
const SHARE = { cycles: 0.25, parts: 0.4 };
/** By how much it must exceed the same of the amplitude, which hum and the converter's own curve move as well. */
const ABOVE_AMPLITUDE = { cycles: 5, parts: 8 };
/** Standard deviations of a mean square of white noise. */
const CLEAR = 8;

/**
 * A tone whose phase wanders or jumps although no jump can be placed: what is left of the sine is neither noise nor distortion, and no tone figure can be stated. The phase of blocks is
 * held against their amplitude: white noise and white jitter move the phase of a block of L readings by at most 1.5/L of what is left, far less than a quarter; hum and
 * the converter's curve move both alike; drift moves neither. Asked for are a quarter of what is left, five times what the amplitude shows, and eight deviations of what white
 * noise gives (of eight blocks χ² above 40: 3e-6).
 * In a record of fewer than eight cycles the blocks are parts of one, harmonics and the converter's curve are taken off first, and more is asked for.
 */
export const wanderingPhase: Detector = ({ record, fit, clean, usable }) => {
  if (fit === null || record.stimulus?.kind !== "sine") return [];
  const [first, last] = clean.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
  const codes = record.codes.subarray(first, last + 1);
  const cycles = fit.cyclesPerReading * codes.length;
  const beat = Math.min(fit.cyclesPerReading, 0.5 - fit.cyclesPerReading) * codes.length;
  const kind = beat >= LEAST_BLOCKS ? "cycles" : "parts";
  const count = Math.min(MOST_BLOCKS, kind === "cycles" ? Math.floor(beat) : 16, Math.floor(codes.length / SHORTEST));
  if (count < LEAST_BLOCKS || cycles < 1) return [];
  const own = { ...fit, phase: fit.phase + 2 * Math.PI * fit.cyclesPerReading * first };
  const readings = kind === "cycles" ? { codes, fit: own } : plain(codes, own, usable);
  if (readings === null) return [];
  const length = codes.length / count;
  const looked = Math.min(length, Math.max(ENOUGH, Math.ceil(codes.length / beat)));
  const moved = moves(readings.codes, readings.fit, count, looked, usable);
  // Beyond the rails harmonics run free: what they do not make better is no measure.
  if (moved.left > 2 * fit.residualRms ** 2) return [];
  const wanders = ({ phase, amplitude, left }: Moves): boolean =>
    phase >= SHARE[kind] * left &&
    phase * looked >= left * (1 + CLEAR * Math.sqrt(2 / count)) &&
    phase >= ABOVE_AMPLITUDE[kind] * amplitude;
  if (!wanders(moved)) return [];
  // A tone near a third of the rate shows a block three places of the converter's curve, and another three the next.
  if (
    kind === "cycles" &&
    !wanders(moves(withoutDistortion(codes, undistorted(own), usable).readings, own, count, looked, usable))
  )
    return [];
  const { phase, left } = moved;
  const share = phase / left;
  const wander = Math.sqrt((2 * phase) / fit.amplitude ** 2);
  return [
    {
      id: "uneven-sampling",
      severity: "error",
      text: `The phase of stretches of ${say.count(Math.round(length))} readings scatters by ${say.degrees(wander)} rms about the fitted sine and makes up ${say.ratio(Math.min(1, share))} of what it leaves, while the amplitude holds: readings are not evenly spaced in time, although no single loss can be placed.`,
      cause:
        "Readings are lost in places too many or too small to make out, or the sample clock or the source wanders.",
      advice:
        "Log a running number or time stamps, start conversions from a timer, and use a crystal for clock and source; no tone figure is stated, since all this would count as noise.",
      readings: [[first, last]],
      nulls: TONE_METRICS,
    },
  ];
};

/** The readings without distortion, and the sine through them. */
function plain(
  codes: Int32Array,
  fit: SineFit,
  usable: UsableCodes | null,
): { codes: ArrayLike<number>; fit: Pick<SineFit, "cyclesPerReading" | "amplitude" | "phase" | "offset"> } | null {
  const { cyclesPerReading, amplitude, phase } = fit;
  const joint = jointPhases(codes, { cycles: cyclesPerReading, amplitude, starts: [0], phases: [phase] }, null, usable);
  if (joint === null) return null;
  return {
    codes: withoutDistortion(codes, joint, usable).readings,
    fit: {
      cyclesPerReading: joint.cycles,
      amplitude: joint.amplitude,
      phase: joint.phases[0]!,
      offset: joint.offset,
    },
  };
}

interface Moves {
  readonly phase: number;
  readonly amplitude: number;
  readonly left: number;
}

/** Mean squares, codes², of what moves of phase and of amplitude of the blocks make, and of all that the sine leaves, over the first readings of each block. */
function moves(
  codes: ArrayLike<number>,
  fit: Pick<SineFit, "cyclesPerReading" | "amplitude" | "phase" | "offset">,
  count: number,
  looked: number,
  usable: UsableCodes | null,
): Moves {
  const { floor, ceiling } = usable ?? ALL_CODES;
  let [phase, amplitude, left, used] = [0, 0, 0, 0];
  for (let b = 0; b < count; b++) {
    const first = Math.floor((b * codes.length) / count);
    const end = Math.min(Math.floor(((b + 1) * codes.length) / count), Math.ceil(first + looked));
    let sums = { n: 0, y: 0, yy: 0, yc: 0, ys: 0, c: 0, s: 0, cc: 0, ss: 0 };
    for (const { from, to } of piecesOf(end - first))
      sums = kernels.addBlockProducts(
        sums,
        readingsOf(codes, first + from, first + to),
        fit,
        first + from,
        floor,
        ceiling,
      );
    const { n, y, yy, yc, ys, c, s, cc, ss } = sums;
    if (n < 4) continue;
    // A level of each block's own, so that drift enters neither.
    const vs = ss - (s * s) / n;
    const vc = cc - (c * c) / n;
    if (vs > 0.05 * ss) phase += (ys - (y * s) / n) ** 2 / vs;
    if (vc > 0.05 * cc) amplitude += (yc - (y * c) / n) ** 2 / vc;
    left += yy;
    used += n;
  }
  return { phase: phase / used, amplitude: amplitude / used, left: left / used };
}
