import { kernels } from "../kernels/kernels.generated.js";
import { realFft } from "../signal/fft.ts";
import { median } from "../signal/median.ts";
import { averages } from "./averages.ts";
import type { Detector, MatchContext } from "./context.ts";
import { converterLsb } from "./converterLsb.ts";
import { curveSquares } from "./curveSquares.ts";
import type { Finding } from "./finding.ts";
import { foldedFrequency } from "./foldedFrequency.ts";
import { levelsBesideTone } from "./levelsBesideTone.ts";
import { meansBesideSine } from "./meansBesideSine.ts";
import { robustDeviation } from "./robust.ts";
import { say } from "./say.ts";

const LEAST_SWITCHES = 4;
const LEAST_LSB = 0.7;

/**
 * Noise that sits on two levels (telegraph or popcorn noise) in a steady record: the record smoothed over 1, 4, 16, 64 readings falls into two groups
 * with hardly anything between, and changes group many times less often than independent readings would.
 * A Gaussian split at its middle has its halves' means 2.6 of their deviations apart and a third of its readings in the middle third between
 * them; five deviations and a tenth are asked for, which no clean record of 60 or more smoothed readings came near in 10 000 trials.
 */
export const telegraphNoise: Detector = (context) => {
  const { record, seen, clean } = context;
  const { codes, stimulus } = record;
  if (stimulus?.kind === "sine") return besideTone(context);
  if (stimulus?.kind !== "steady" || codes.length < 240 || seen.max - seen.min < 1 || clean.length !== 1) return [];
  for (const width of [1, 4, 16, 64]) {
    const count = Math.min(200_000, Math.floor(codes.length / width));
    if (count < 60) break;
    const smooth = averages(codes, 0, width, count);
    const split = kernels.twoGroups(smooth);
    if (split === null) continue;
    const { low, high, spread, between, switches, lowCount } = split;
    const apart = high - low;
    if (apart < LEAST_LSB || apart < 5 * spread || between > 0.1 * count || switches < LEAST_SWITCHES) continue;
    const fewer = Math.min(lowCount, count - lowCount);
    if (fewer < 0.02 * count) continue;
    // A level that moves from one place to another and stays there, on whatever course, is a drift.
    if (isOneWay(smooth, (low + high) / 2)) continue;
    // Independent readings change group 2·p·(1 − p) of the time.
    const p = lowCount / count;
    if (switches > 0.4 * 2 * p * (1 - p) * count) continue;
    if (!areAlike(smooth, (low + high) / 2, apart, width)) return [];
    return finding(codes, apart, switches, (count * width) / (switches + 1));
  }
  return [];
};

function finding(codes: Int32Array, apart: number, switches: number, stay: number): Finding[] {
  return [
    {
      id: "telegraph-noise",
      severity: "warning",
      text: `The noise sits on two levels ${say.lsb(apart)} apart and changes between them ${say.count(switches)} times, staying ${say.count(stay)} readings on average.`,
      cause:
        "Telegraph (popcorn) noise of a buffer, reference or the converter's input stage; or a load that switches on and off.",
      advice:
        "Look whether the times match something that the board does; else try another part. Standard deviation alone does not describe such noise.",
      readings: [[0, codes.length - 1]],
      nulls: [],
    },
  ];
}

/** Values that are searched for two levels at most. */
const MOST_VALUES = 1 << 14;
/** What the converter's curve leaves of a tone wanders by some tenths of an LSB where its phases repeat slowly. */
const LEAST_BESIDE_TONE_LSB = 1;

/** Share of the readings that may lie at a rail: a sine that is cut off at its peaks stays on one level there. */
const MOST_CUT = 0.01;

/** Two levels in what a tone and its harmonics leave of the record. */
function besideTone({ record, fit, clean, courses, seen, ends }: MatchContext): Finding[] {
  const { codes } = record;
  if (fit === null || clean.length !== 1 || codes.length < 240) return [];
  if (ends.length > 0 || seen.atBottom + seen.atTop > MOST_CUT * codes.length) return [];
  const step = Math.ceil(codes.length / MOST_VALUES);
  const means = meansBesideSine(codes, fit, { courses, along: clean[0]! }, [0, codes.length - 1], step);
  const { values, found } = levelsBesideTone(means, fit.cyclesPerReading * step);
  if (found === null || !found.isFlat || found.switches < LEAST_SWITCHES) return [];
  if (found.apart < LEAST_BESIDE_TONE_LSB * converterLsb(record)) return [];
  // A drift whose course was taken off leaves some of itself. Hum is explained better by some lines, which telegraph noise spreads over many.
  const ofCourses = courses.reduce((sum, c) => sum + c.squares / step, 0);
  if (found.squares < Math.max(ofCourses, linesSquares(values))) return [];
  // So is the converter's own curve by the tone's phase, which levels that come and go at random follow only in part.
  if (found.squares < phaseSquares(values, fit.cyclesPerReading * step)) return [];
  // A curve that changes from code to code is too fine for the slices, and a record of a cycle or two passes each code only twice: but what it shows there is alike.
  if (OF_CURVE * found.squares < curveSquares(values, fit.cyclesPerReading * step, fit.phase)) return [];
  return finding(codes, found.apart, found.switches, codes.length / (found.switches + 1));
}

/** Share of what two levels explain that the converter's own curve, alike whenever a code is passed, must account for. */
const OF_CURVE = 0.5;

/** Slices of the tone's period values in one. */
const SLICES = 64;
const LEAST_IN_SLICE = 4;

/** What the mean at each phase of the tone explains of the squares. */
function phaseSquares(values: Float64Array, cycles: number): number {
  const slices = Math.min(SLICES, Math.floor(values.length / LEAST_IN_SLICE));
  const sums = new Float64Array(slices);
  const counts = new Int32Array(slices);
  values.forEach((x, i) => {
    const turns = cycles * i;
    const slice = Math.floor((turns - Math.floor(turns)) * slices);
    sums[slice]! += x;
    counts[slice]!++;
  });
  return sums.reduce((total, sum, k) => total + (counts[k]! > 0 ? (sum * sum) / counts[k]! : 0), 0);
}

/** What the strongest line explains of the squares with its second and third harmonic; each with its larger neighbour, between whose bins it may lie. */
function linesSquares(values: Float64Array): number {
  const n = values.length;
  const { re, im } = realFft(values);
  const power = Float64Array.from(re, (x, k) => (k === 0 ? 0 : (2 * (x ** 2 + im[k]! ** 2)) / n));
  const take = (k: number): number => {
    const beside = (power[k - 1] ?? 0) > (power[k + 1] ?? 0) ? k - 1 : k + 1;
    const sum = (power[k] ?? 0) + (power[beside] ?? 0);
    power.fill(0, k, k + 1).fill(0, beside, beside + 1);
    return sum;
  };
  let peak = 1;
  for (let k = 2; k < power.length; k++) if (power[k]! > power[peak]!) peak = k;
  let sum = take(peak);
  for (const order of [2, 3]) sum += take(Math.round(foldedFrequency((order * peak) / n) * n));
  return sum;
}

/** Pieces of a record whose groups tell a course from switching. */
const PIECES = 16;

/** Whether the record's pieces, each by its own median, stand on one side of the cut first and on the other afterwards. */
function isOneWay(values: Float64Array, cut: number): boolean {
  const size = Math.floor(values.length / PIECES);
  const above = Array.from({ length: PIECES }, (_, p) => median(values.subarray(p * size, (p + 1) * size)) > cut);
  const inside = Array.from({ length: PIECES }, (_, p) => {
    let crossings = 0;
    for (let i = p * size + 1; i < (p + 1) * size; i++) if (values[i]! > cut !== values[i - 1]! > cut) crossings++;
    return crossings;
  });
  let changes = 0;
  for (let p = 1; p < PIECES; p++) if (above[p] !== above[p - 1]) changes++;
  // Where the course passes the cut, noise crosses it back and forth; elsewhere nothing does.
  return changes <= 1 && inside.filter((crossings) => crossings > 0).length <= 3;
}

/** How much more one level may scatter than the other: share of it, share of the levels' distance, codes of a reading. */
const UNLIKE = { share: 2, ofDistance: 0.05, codes: 1.5 };

/** Whether both levels scatter alike, as one noise about two levels does: pulses have a height and a course of their own. By medians, which readings between the levels do not move. */
function areAlike(values: Float64Array, cut: number, apart: number, width: number): boolean {
  const scatter = (isOne: (v: number) => boolean): number => robustDeviation(values.filter(isOne));
  const [a, b] = [scatter((v) => v < cut), scatter((v) => v >= cut)];
  const allowed = UNLIKE.share * Math.min(a, b) + UNLIKE.ofDistance * apart + UNLIKE.codes / Math.sqrt(width);
  return Math.max(a, b) <= allowed;
}
