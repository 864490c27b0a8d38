import type { CaptureRecord } from "../capture/record.ts";
import { converterLsb } from "./converterLsb.ts";
import type { Finding } from "./finding.ts";
import { ALL_METRICS, SHAPE_METRICS, STEADY_METRICS, TONE_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";
import type { Survey } from "./survey.ts";

/**
 * Independent values that must be seen before a bit that never changes means something: a free bit agrees in twenty of them by chance once in 2^19,
 * which with 16 bits is a false alarm of 3e-5.
 */
const ENOUGH = 20;
/** Readings looked at. */
const LOOKED_AT = 1 << 16;

/** Bits that never change although the codes run past both of their values. Several such bits at the bottom, all 0, are a shifted result. */
export function constantBits(record: CaptureRecord, seen: Survey): Finding[] {
  if (seen.distinct < ENOUGH || seen.min < 0) return [];
  const { scale, stimulus, codes } = record;
  const span = seen.max - seen.min;
  const visited = new Set<number>();
  const stride = Math.max(1, Math.ceil(codes.length / LOOKED_AT));
  for (let n = 0; n < codes.length; n += stride) visited.add(codes[n]!);
  const advance = stimulus?.kind === "ramp" || stimulus?.kind === "triangle" ? meanMove(codes) : 0;
  const constant: { bit: number; value: 0 | 1 }[] = [];
  // A firmware sum without noise steps by the number of conversions, which is no fault.
  for (let bit = Math.ceil(Math.log2(converterLsb(record))); bit < Math.ceil(scale.bits); bit++) {
    // A stretch of codes this long has both values of the bit.
    if (span < 2 ** (bit + 1)) break;
    const isOne = (seen.and >>> bit) & 1;
    const isZero = ((seen.or >>> bit) & 1) === 0;
    if ((isOne || isZero) && isTold(visited, seen, bit) && !isStrobed(advance, codes.length, bit))
      constant.push({ bit, value: isOne ? 1 : 0 });
  }
  if (constant.length === 0) return [];
  let low = 0;
  while (constant[low]?.bit === low && constant[low]?.value === 0) low++;
  if (constant.length === 0) return [];
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
    {
      id: "stuck-bit",
      severity: "error",
      text: `Over ${say.count(seen.distinct)} different codes from ${say.count(seen.min)} to ${say.count(seen.max)}, ${named.join(", ")}.`,
      cause: onlyLowest
        ? `A data line that is open or shorted, or a ${fewer}-bit result that was shifted up by one.`
        : "A data line that is open or shorted, a pin in the wrong mode, or a mask in the firmware.",
      advice: "Probe that line while the input moves slowly; compare the register in a debugger with the log.",
      readings,
      nulls: ALL_METRICS,
    },
  ];
}

/**
 * Whether the codes seen are enough to expect both values of a bit: twenty values that differ above it, or, for a high bit, a sweep that leaves hardly a gap
 * in the halves that the bit allows (a few levels of a staircase, each with its noise, are only as many values as levels).
 */
function isTold(visited: ReadonlySet<number>, seen: Survey, bit: number): boolean {
  const above = new Set<number>();
  for (const code of visited) above.add(Math.floor(code / 2 ** (bit + 1)));
  if (above.size >= ENOUGH) return true;
  const fine = 2 ** Math.max(0, bit - 5);
  const bins = new Set<number>();
  for (const code of visited) bins.add(Math.floor(code / fine));
  const all = Math.floor(seen.max / fine) - Math.floor(seen.min / fine) + 1;
  return bins.size >= ENOUGH && bins.size >= 0.25 * all;
}

/** Mean move from one reading to the next, codes. */
function meanMove(codes: Int32Array): number {
  let sum = 0;
  for (let n = 1; n < codes.length; n++) sum += Math.abs(codes[n]! - codes[n - 1]!);
  return sum / Math.max(1, codes.length - 1);
}

/** Turns through both values of a bit that a fast ramp or triangle must make before a constant one means something. */
const TURNS = 8;
/** Of a fast one with fewer readings the moves themselves are not regular enough to say. */
const LONG_ENOUGH = 2000;

/**
 * A fast ramp or triangle that moves by nearly whole multiples of a bit's period each reading keeps that bit for a long while, as a stroboscope holds a wheel.
 */
function isStrobed(advance: number, readings: number, bit: number): boolean {
  const periods = advance / 2 ** (bit + 1);
  return periods > 0.5 && (readings < LONG_ENOUGH || Math.abs(periods - Math.round(periods)) * readings < TURNS);
}
