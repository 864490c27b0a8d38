import type { CaptureRecord } from "../capture/record.ts";
import { oneIn } from "../signal/oneIn.ts";
import { converterLsb } from "./converterLsb.ts";
import type { Finding } from "./finding.ts";
import { lowBitsOfLevels } from "./lowBitsOfLevels.ts";
import { SHAPE_METRICS, STEADY_METRICS, TONE_METRICS } from "./metricGroups.ts";
import { isStuckInNoise, singleGap } from "./noiseGap.ts";
import { say } from "./say.ts";
import { stuckBit } from "./stuckBit.ts";
import { isStuckOnSteps } from "./stuckOnSteps.ts";
import type { Survey } from "./survey.ts";

/**
 * Independent values that must be seen before a bit that never changes means something: a free bit agrees in twenty of them by chance once in 2^19,
 * which with 16 bits is a false alarm of 3e-5.
 */
const ENOUGH = 20;
/** Least of them where several low bits stand still together: the chance of each multiplies. */
const ENOUGH_TOGETHER = 8;
/** Readings looked at. */
const LOOKED_AT = 1 << 16;

/** Bits that never change although the codes run past both of their values. Several such bits at the bottom, all 0, are a shifted result. */
export function constantBits(record: CaptureRecord, seen: Survey): Finding[] {
  const { scale, stimulus, codes } = record;
  const isSweep = stimulus?.kind === "sine" || stimulus?.kind === "ramp" || stimulus?.kind === "triangle";
  if (seen.distinct < (isSweep ? ENOUGH_TOGETHER : 2) || seen.min < 0) return [];
  const span = seen.max - seen.min;
  // A firmware sum without noise steps by the number of conversions, which is no fault.
  const lowest = Math.ceil(Math.log2(converterLsb(record)));
  const isConstant = (bit: number): boolean => ((seen.and >>> bit) & 1) === 1 || ((seen.or >>> bit) & 1) === 0;
  const bits = Array.from({ length: Math.max(0, Math.ceil(scale.bits) - lowest) }, (_, i) => lowest + i);
  if (!bits.some(isConstant)) return [];
  const visited = new Set(oneIn(Math.ceil(codes.length / LOOKED_AT), codes));
  const sweep = stimulus?.kind === "ramp" || stimulus?.kind === "triangle" ? straightRun(codes, scale.topCode) : null;
  const constant: { bit: number; value: 0 | 1 }[] = [];
  // Several low bits that never change are a chance together, each for itself.
  let together = 0;
  while (lowest + together < scale.bits && isConstant(lowest + together)) together++;
  const ofLevels = lowBitsOfLevels(record, lowest, together, seen.and);
  for (const bit of bits) {
    // A stretch of codes this long has both values of the bit; noise of a level has a gap of the bit's width in it.
    if (stimulus?.kind !== "steps" && span < (isSweep ? 2 ** (bit + 1) : 2 ** bit + 1)) break;
    const isOne = (seen.and >>> bit) & 1;
    const isZero = ((seen.or >>> bit) & 1) === 0;
    if (!isOne && !isZero) continue;
    const told = isSweep
      ? isTold(visited, seen, bit, bit < lowest + together ? together : 1) && !isStrobed(sweep, codes.length, bit)
      : bit < lowest + ofLevels || isStuckInNoise(record, bit) || isStuckOnSteps(record, bit, isOne === 1);
    if (told) constant.push({ bit, value: isOne ? 1 : 0 });
  }
  // What is told of one of the low bits that are all 0 holds for those below it: a result that was shifted up.
  let zeros = 0;
  while (zeros < together && ((seen.or >>> (lowest + zeros)) & 1) === 0) zeros++;
  const told = Math.max(-1, ...constant.filter((c) => c.bit < lowest + zeros).map((c) => c.bit));
  for (let bit = lowest; bit < told; bit++) if (!constant.some((c) => c.bit === bit)) constant.push({ bit, value: 0 });
  constant.sort((a, b) => a.bit - b.bit);
  if (constant.length === 0) return lowest === 0 && isConstant(0) ? missingOrStuck(record) : [];
  let low = 0;
  while (constant[low]?.bit === low && constant[low]?.value === 0) low++;
  const readings = [[0, codes.length - 1]] as const;
  const fewer = Math.round(scale.bits) - low;
  if (low >= 2 && constant.length === low)
    return [
      {
        id: "narrower-than-declared",
        severity: "error",
        text: `The low ${low} bits are 0 in all ${say.count(codes.length)} readings: only every ${2 ** low}th code comes.`,
        cause: `The converter delivers ${fewer} bits that the firmware shifted up by ${low}, or a left-aligned word was read as it is.`,
        advice: `Set \`bits: ${fewer}\` and shift the word down by ${low} (\`align: left\`, \`container: ${Math.round(scale.bits)}\`), or set the resolution in firmware.`,
        readings,
        nulls: [...SHAPE_METRICS, ...STEADY_METRICS, ...TONE_METRICS.filter((m) => m !== "signalLevel" && m !== "thd")],
      },
    ];
  const named = constant.map(({ bit, value }) => `bit ${bit} (weight ${say.count(2 ** bit)}) is always ${value}`);
  const onlyLowest = constant.length === 1 && low === 1;
  return [
    stuckBit(
      record,
      `Over ${say.count(seen.distinct)} different codes from ${say.count(seen.min)} to ${say.count(seen.max)}, ${named.join(", ")}.`,
      onlyLowest
        ? `A data line that is open or shorted, or a ${fewer}-bit result that was shifted up by one.`
        : undefined,
    ),
  ];
}

/** One code that noise passes over in a steady record: missing in the converter, or the lowest bit stands still. */
function missingOrStuck(record: CaptureRecord): Finding[] {
  const gap = singleGap(record);
  if (gap === null) return [];
  const { below, above, readings } = gap;
  return [
    {
      id: "stuck-bit",
      severity: "warning",
      text: `Code ${say.count(below + 1)} never comes, although noise goes back and forth between the codes below it (${say.plural(readings[0], "reading")}) and above it (${say.count(readings[1])}): bit 0 is always ${below & 1}, or the converter misses that code.`,
      cause: "A data line that is open or shorted, a result shifted up by one, or a missing code of the converter.",
      advice: `Log a slow ramp past codes ${say.count(below)} to ${say.count(above)}: with a stuck bit every other code is missing.`,
      readings: [[0, record.codes.length - 1]],
      nulls: STEADY_METRICS,
    },
  ];
}

/**
 * Whether the codes of a sweep are enough to expect both values of a bit: twenty values that differ above it (fewer where several low bits stand still together), or,
 * for a high bit, a sweep that leaves hardly a gap in the halves that the bit allows.
 */
function isTold(visited: ReadonlySet<number>, seen: Survey, bit: number, together: number): boolean {
  const above = new Set<number>();
  for (const code of visited) above.add(Math.floor(code / 2 ** (bit + 1)));
  if (above.size >= Math.max(ENOUGH_TOGETHER, ENOUGH / together)) return true;
  const fine = 2 ** Math.max(0, bit - 5);
  const bins = new Set<number>();
  for (const code of visited) bins.add(Math.floor(code / fine));
  const all = Math.floor(seen.max / fine) - Math.floor(seen.min / fine) + 1;
  return bins.size >= ENOUGH && bins.size >= 0.25 * all;
}

/** The slope of a ramp or of one straight run of a triangle, codes a reading, and its standard uncertainty for readings spread by one code. */
interface StraightRun {
  readonly slope: number;
  readonly standard: number;
}

/** Readings over which the direction of a sweep is taken. */
const LAG = 5;

/** The longest stretch in which a sweep keeps its direction, rails left out; null where none has a dozen readings. */
function straightRun(codes: Int32Array, top: number): StraightRun | null {
  let best = { first: 0, length: 0 };
  let first = 0;
  let direction = 0;
  for (let n = LAG; n <= codes.length; n++) {
    const move = n < codes.length ? Math.sign(codes[n]! - codes[n - LAG]!) : 0;
    const inside = n < codes.length && codes[n]! > 0 && codes[n]! < top;
    if (move !== direction || !inside) {
      if (direction !== 0 && n - first > best.length) best = { first, length: n - first };
      first = inside ? n : n + 1;
      direction = inside ? move : 0;
    }
  }
  // What is left of the turn at either end.
  const from = best.first + LAG;
  const length = best.length - 2 * LAG;
  if (length < 12) return null;
  const middle = (length - 1) / 2;
  let sxy = 0;
  for (let i = 0; i < length; i++) sxy += (i - middle) * codes[from + i]!;
  const sxx = (length * (length * length - 1)) / 12;
  return { slope: Math.abs(sxy / sxx), standard: 1 / Math.sqrt(sxx) };
}

/** Turns through both values of a bit that a fast ramp or triangle must make before a constant one means something. */
const TURNS = 8;

/**
 * A fast ramp or triangle that moves by nearly whole multiples of a bit's period each reading keeps that bit for a long while, as a stroboscope holds a wheel. One
 * whose slope is not known well enough to tell may do so.
 */
function isStrobed(sweep: StraightRun | null, readings: number, bit: number): boolean {
  if (sweep === null) return false;
  const period = 2 ** (bit + 1);
  const periods = sweep.slope / period;
  if (periods <= 0.5) return false;
  // The bit itself spreads the codes by a third of its period about their line.
  const doubt = 3 * sweep.standard * 0.3;
  return (Math.abs(periods - Math.round(periods)) - doubt) * readings < TURNS;
}
