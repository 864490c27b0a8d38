import type { CaptureRecord } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { Finding } from "./finding.ts";
import { ALL_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";
import { steppedVolts } from "./steppedLevels.ts";
import type { Survey } from "./survey.ts";
import { swappedLevel } from "./swappedLevel.ts";
import { turnsAt } from "./triangleMismatch.ts";

/**
 * A sine, ramp or level that is half the range away from where it must be (the sign bit), or smaller than stated by a power of two in amplitude and offset
 * alike: the converter runs at fewer bits than declared.
 * Both must agree with the same power within 4 % of full scale, which no wrong generator setting does by chance in both at once; a level alone
 * must agree within 1 %.
 */
export function misplacedCodes(record: CaptureRecord, seen: Survey, fit: SineFit | null): Finding[] {
  const { scale, stimulus } = record;
  const codeOf = (volts: number): number => (volts - scale.low) / scale.lsb;
  const points: { expected: number; found: number }[] = [];
  if (stimulus?.kind === "sine" && fit !== null && stimulus.amplitude !== null && stimulus.offset !== null) {
    points.push({ expected: codeOf(stimulus.offset + stimulus.amplitude), found: fit.offset + fit.amplitude });
    points.push({ expected: codeOf(stimulus.offset - stimulus.amplitude), found: fit.offset - fit.amplitude });
  } else if (stimulus?.kind === "ramp" || stimulus?.kind === "triangle") {
    // Less than a cycle of a triangle need not reach either end.
    const turns = (code: number): boolean => stimulus.kind === "ramp" || turnsAt(record.codes, code, seen);
    if (!turns(seen.min) || !turns(seen.max)) return [];
    const [a, b] = stimulus.kind === "ramp" ? [stimulus.from, stimulus.to] : [stimulus.low, stimulus.high];
    const within = (code: number): number => Math.max(0, Math.min(scale.topCode, code));
    points.push({ expected: within(codeOf(Math.min(a, b))), found: seen.min });
    points.push({ expected: within(codeOf(Math.max(a, b))), found: seen.max });
  } else if (stimulus?.kind === "steps") {
    const volts = steppedVolts(record);
    if (volts === null) return [];
    let [low, high] = [0, 0];
    for (let n = 1; n < volts.length; n++) {
      if (volts[n]! < volts[low]! || Number.isNaN(volts[low]!)) low = n;
      if (volts[n]! > volts[high]! || Number.isNaN(volts[high]!)) high = n;
    }
    // The last reading of a level: the first ones may still be settling.
    for (const n of [low, high]) {
      let last = n;
      while (volts[last + 1] === volts[n]) last++;
      points.push({ expected: codeOf(volts[n]!), found: record.codes[last]! });
    }
  } else if (stimulus?.kind === "steady" && stimulus.voltage !== null) {
    points.push({ expected: codeOf(stimulus.voltage), found: seen.mean });
  } else return [];
  const full = scale.topCode + 1;
  // A two's complement word of fewer bits is small about 0, which decoding puts at mid-scale.
  const origin = record.spec.converter.coding === "twos-complement" ? full / 2 : 0;
  const reach = (code: number): number => Math.abs(code - origin);
  const close = points.length > 1 ? 0.04 : 0.01;
  // All points go the same way: codes that close in on the middle from both sides are fewer bits.
  if ([1, -1].some((way) => points.every((p) => Math.abs(way * (p.found - p.expected) - full / 2) <= close * full)))
    return [turnedSign(record, points[0]!)];
  if (swappedLevel(record)) return [swappedBytes(record, points[0]!)];
  const wider = widerLevel(record, points, origin, seen);
  if (wider !== null) return [wider];
  const largest = Math.max(...points.map((p) => reach(p.expected)));
  const isLevel = points.length === 1;
  if (!(largest > (origin > 0 ? 0.2 : isLevel ? 0.03 : 0.1) * full)) return [];
  for (let k = 1; k <= Math.min(8, Math.floor(scale.bits) - 2); k++) {
    const factor = 2 ** k;
    // Near the bottom a level is near to any other: there it must agree within a share of itself.
    const room = isLevel ? Math.min(close * full, LEVEL_CLOSE * largest + 2 * factor) : close * full;
    const agree = points.every((p) => Math.abs(origin + (p.found - origin) * factor - p.expected) <= room + factor);
    const furthest = Math.max(reach(seen.min), reach(seen.max));
    if (!agree || furthest > (full - origin) / factor) continue;
    // About its own middle half an amplitude is a generator's setting just as well.
    if (k === 1 && origin > 0 && points.length > 1 && Math.abs(middleOf(points) - origin) < 0.1 * full) continue;
    const bits = Math.round(scale.bits) - k;
    const shown = points.reduce((a, b) => (reach(b.expected) > reach(a.expected) ? b : a));
    return [
      {
        id: "narrower-than-declared",
        severity: "error",
        text: `Codes run only from ${say.count(seen.min)} to ${say.count(seen.max)} of 0 to ${say.count(scale.topCode)}, a factor of ${factor} short of what was applied (${say.number(shown.found)} found, ${say.number(shown.expected)} expected), in every point alike.`,
        cause: `The converter runs at ${bits} bits, not ${say.number(scale.bits)}, or the firmware shifted the result down by ${k}.`,
        advice: `Set \`bits: ${bits}\`, or the converter's resolution in firmware.`,
        readings: [[0, record.codes.length - 1]],
        nulls: ALL_METRICS,
      },
    ];
  }
  return [];
}

/** Share of a stated level within which it must stand once it is scaled. */
const LEVEL_CLOSE = 0.03;

function middleOf(points: readonly { expected: number }[]): number {
  return points.reduce((sum, p) => sum + p.expected, 0) / points.length;
}

/** Bits more that a level alone may have without leaving the declared range. */
const MOST_MORE = 6;

/**
 * A level that stands a power of two higher than stated, and not beyond the declared range: the log holds codes of more bits. Within 1 % of full scale, as a turned sign;
 * levels near the bottom, where any code is near to any other, say nothing.
 */
function widerLevel(
  record: CaptureRecord,
  points: readonly { expected: number; found: number }[],
  origin: number,
  seen: Survey,
): Finding | null {
  const { scale, stimulus } = record;
  const [point] = points;
  if (stimulus?.kind !== "steady" || point === undefined) return null;
  const full = scale.topCode + 1;
  const away = point.expected - origin;
  for (let k = 1; k <= MOST_MORE; k++) {
    const factor = 2 ** k;
    // The converter's own gain and offset are multiplied as well.
    if (Math.abs(away) < 0.02 * full || Math.abs(away) * (factor - 1) < 0.05 * full) continue;
    const miss = Math.abs(point.found - origin - factor * away);
    if (miss > Math.max(0.01 * full, 0.01 * Math.abs(factor * away) + 3 * factor)) continue;
    const bits = Math.round(scale.bits) + k;
    const isShifted = seen.distinct >= 3 && (seen.or & (factor - 1)) === 0;
    const text = `Codes about ${say.number(point.found)} were found where ${say.number(point.expected)} are expected: ${factor} times as many`;
    const base = { severity: "error", readings: [[0, record.codes.length - 1]], nulls: ALL_METRICS } as const;
    return isShifted
      ? {
          ...base,
          id: "left-aligned",
          text: `${text}, and the low ${say.plural(k, "bit is", "bits are")} 0 in every word.`,
          cause: "The data register is left-aligned: the code sits at the top of its word.",
          advice: `Declare \`align: left\` with \`container: ${bits}\`, or set the register to right alignment.`,
        }
      : {
          ...base,
          id: "wider-than-declared",
          text: `${text}, as ${bits} bits make them.`,
          cause:
            "The converter runs at a higher resolution than the bench file declares, or the firmware sums several conversions.",
          advice: `Set \`bits: ${bits}\`, or describe the firmware's sum with \`averaging:\`.`,
        };
  }
  return null;
}

/** A signal that lies half the range away from where it must be: the sign bit is turned over, and the signal does not cross the middle. */
function turnedSign(record: CaptureRecord, point: { expected: number; found: number }): Finding {
  const signed = record.spec.converter.coding === "twos-complement";
  return {
    id: "sign-mismatch",
    severity: "error",
    text: `Codes about ${say.number(point.found)} were found where ${say.number(point.expected)} are expected: half the range away, as a turned sign bit makes them.`,
    cause: signed
      ? "The log holds plain or offset binary, but the bench file declares two's complement."
      : "The log holds two's complement, but the bench file declares plain binary.",
    advice: signed ? "Declare `coding: binary` or `offset-binary`." : "Declare `coding: twos-complement`.",
    readings: [[0, record.codes.length - 1]],
    nulls: ALL_METRICS,
  };
}

function swappedBytes(record: CaptureRecord, point: { expected: number; found: number }): Finding {
  return {
    id: "byte-swapped",
    severity: "error",
    text: `Codes about ${say.number(point.found)} were found where ${say.number(point.expected)} are expected; with the two bytes of each word exchanged the level stands where it is stated.`,
    cause: "The firmware sent the word in one byte order and the receiver put it together in the other.",
    advice: "Exchange the bytes when the words are put together.",
    readings: [[0, record.codes.length - 1]],
    nulls: ALL_METRICS,
  };
}
