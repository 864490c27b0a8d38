import type { CaptureRecord } from "../capture/record.ts";
import type { SineFit } from "../signal/sineFit.ts";
import type { Finding } from "./finding.ts";
import { say } from "./say.ts";
import { steppedVolts } from "./steppedLevels.ts";
import { stuckBit } from "./stuckBit.ts";
import type { Survey } from "./survey.ts";
import { LOOKED_AT } from "./unexplained.ts";

/**
 * A high bit that never changes, so that the codes span too little for constantBits: the record must be badly explained as it is (more than 2 % of
 * its power), and well explained (a tenth of that) once the bit is put back where the stated stimulus has it.
 */
export function stuckTopBit(record: CaptureRecord, seen: Survey, fit: SineFit | null, now: number): Finding[] {
  const { stimulus, scale, codes } = record;
  if (stimulus?.kind === "triangle") return stuckUnderTriangle(record, seen);
  if (now < 0.02 || stimulus === null) return [];
  const count = Math.min(codes.length, LOOKED_AT);
  const volts = steppedVolts(record);
  const stride = stimulus.kind === "ramp" || volts !== null ? Math.max(1, Math.floor(codes.length / count)) : 1;
  const codeOf = (v: number): number => Math.max(0, Math.min(scale.topCode, (v - scale.low) / scale.lsb));
  const models: ((n: number) => number)[] = [];
  if (stimulus.kind === "ramp") {
    const slope = (stimulus.to - stimulus.from) / Math.max(1, codes.length - 1);
    models.push((n) => codeOf(stimulus.from + slope * n));
  } else if (volts !== null) {
    if (volts.some(Number.isNaN)) return [];
    models.push((n) => codeOf(volts[n]!));
  } else if (stimulus.kind === "sine" && fit !== null) {
    const amplitude = (stimulus.amplitude ?? 0.45 * scale.fsr) / scale.lsb;
    const middle = ((stimulus.offset ?? scale.low + scale.fsr / 2) - scale.low) / scale.lsb;
    for (const turn of [0, Math.PI])
      models.push((n) => {
        const theta = 2 * Math.PI * fit.cyclesPerReading * n + fit.phase + turn;
        return Math.max(0, Math.min(scale.topCode, middle + amplitude * Math.cos(theta)));
      });
  }
  for (let bit = Math.round(scale.bits) - 1; bit >= 2; bit--) {
    const isOne = (seen.and >> bit) & 1;
    if (!isOne && (seen.or >> bit) & 1) continue;
    const weight = isOne ? -(2 ** bit) : 2 ** bit;
    for (const model of models) {
      let misses = 0;
      let mean = 0;
      let moved = 0;
      for (let i = 0; i < count; i++) {
        const n = i * stride;
        const expected = model(n);
        const asIs = Math.abs(codes[n]! - expected);
        const put = Math.abs(codes[n]! + weight - expected);
        if (put < asIs) moved++;
        misses += Math.min(asIs, put) ** 2;
        mean += expected / count;
      }
      let power = 0;
      for (let i = 0; i < count; i++) power += (model(i * stride) - mean) ** 2;
      if (misses < 0.1 * now * power && moved > 0.02 * count)
        return [
          stuckBit(
            record,
            `Bit ${bit} (weight ${say.count(2 ** bit)}) is always ${isOne ? 1 : 0}, but the stated stimulus needs it in ${say.ratio(moved / count)} of the readings, where the codes jump by its weight.`,
          ),
        ];
    }
  }
  return [];
}

/** Jumps by a bit's weight that a triangle makes where one of its two highest bits stands still: one at each passage; single upset readings make two each. */
const LEAST_JUMPS = 2;

/** A triangle that passes the middle (or a quarter) of the range falls back by the weight of a bit that never changes; a slow one never jumps so far. */
function stuckUnderTriangle(record: CaptureRecord, seen: Survey): Finding[] {
  const { codes, scale } = record;
  const bits = Math.round(scale.bits);
  for (const bit of [bits - 1, bits - 2]) {
    const isOne = (seen.and >> bit) & 1;
    if (!isOne && (seen.or >> bit) & 1) continue;
    const weight = 2 ** bit;
    let jumps = 0;
    let moves = 0;
    for (let n = 2; n < codes.length; n++) {
      const move = Math.abs(codes[n]! - codes[n - 1]!);
      if (move > 0.7 * weight && move < 1.1 * weight) {
        // An upset reading comes back at once.
        if (Math.abs(codes[n]! - codes[n - 2]!) > 0.5 * weight) jumps++;
      } else moves += move;
    }
    if (jumps < LEAST_JUMPS || moves / codes.length > 0.1 * weight) continue;
    return [
      stuckBit(
        record,
        `Bit ${bit} (weight ${say.count(weight)}) is always ${isOne}, and the triangle jumps by its weight ${say.count(jumps)} times.`,
      ),
    ];
  }
  return [];
}
