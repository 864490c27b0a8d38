import type { CaptureRecord } from "../capture/record.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import type { Finding, FindingId } from "./finding.ts";
import { ALL_METRICS } from "./metricGroups.ts";
import { expectedCycles } from "./sampleRate.ts";
import { say } from "./say.ts";
import { steppedVolts } from "./steppedLevels.ts";
import type { Survey } from "./survey.ts";

/** Another reading of the same words: what each code would be if the words had been put together differently. */
interface Rereading {
  readonly id: FindingId;
  readonly what: string;
  readonly cause: string;
  readonly advice: string;
  readonly apply: (code: number) => number;
}

/** A level that a wrong sign splits over both ends of the range has more than this of a range-wide spread's power; a few upset readings do not. */
const SPLIT_LEVEL = 0.1;
/** A level whose bytes come together again spreads 256 times less. */
const TOGETHER = 1e-3;
/** Of a staircase only a gross improvement counts: its few levels fit some exchange of low bits by chance. */
const FEW_LEVELS = 0.05;
/** rms that noise and the converter's own curve leave at most, codes. */
const IN_ORDER = 6;
/** rms of a staircase about its line that a converter's curve accounts for, codes. */
const STRAIGHT = 2.5;
const NEXT_TO_NOTHING = 0.05;
/** Share of the power that a sine read rightly leaves at the very most (20 dB); a wrong sign or byte order leaves more. */
const ALL_BUT_NOISE = 0.01;
/** Different codes without which one exchange of bits is as good as another. */
const ENOUGH_CODES = 24;
/** Of a staircase that a converter in order would not give. */
const ENOUGH_LEVELS = 5;
/** Readings looked at: enough to tell, few enough that a hundred rereadings cost milliseconds. */
const LOOKED_AT = 2048;

/**
 * Words put together wrongly although every code is in range: the sign bit turned over, bytes exchanged, two lines exchanged, a bit that never changes.
 * Each rereading is judged by how much of the record the stimulus leaves unexplained. A true reading of the words by a monotone converter
 * is never improved by exchanging bits, so that the threshold only has to stand clear of the noise of the ratio: 0.8 of the unexplained power on 512 readings or more is some
 * five standard deviations away (relative sd of a variance ratio about √(4/M)), 0.5 on fewer.
 */
export function codeMeaning(record: CaptureRecord, seen: Survey, fit: SineFit | null): Finding[] {
  const bits = Math.round(record.scale.bits);
  if (seen.min < 0 || seen.max > record.scale.topCode || seen.readings < 32 || seen.distinct < 2) return [];
  const judge = unexplainedBy(record, seen, fit);
  if (judge === null) return [];
  const now = judge((y) => y, false);
  if (!(now > 0)) return [];
  const stepped = record.stimulus?.kind === "steps";
  // Levels that lie as near to the line as a converter in order puts them leave nothing to explain.
  if (stepped && now * spreadOf(record, (y) => y) < STRAIGHT ** 2) return [];
  const enough = stepped
    ? FEW_LEVELS
    : record.stimulus?.kind === "steady"
      ? TOGETHER
      : Math.min(seen.readings, LOOKED_AT) >= 512
        ? 0.8
        : 0.5;
  let best: { reading: Rereading; left: number } | null = null;
  for (const reading of rereadings(bits, record.spec.converter.coding === "twos-complement")) {
    // A level visits too few codes to tell one line of the bus from another.
    if (
      record.stimulus?.kind === "steady" &&
      (reading.id === "stuck-bit" || (reading.id === "sign-mismatch" && now < SPLIT_LEVEL))
    )
      continue;
    if (reading.id === "stuck-bit" && seen.distinct < (stepped ? ENOUGH_LEVELS : ENOUGH_CODES)) continue;
    const left = judge(reading.apply, reading.id !== "stuck-bit" && now > ALL_BUT_NOISE);
    if (!(left < enough * now) || (best !== null && left >= best.left)) continue;
    // What is left must be what a converter in order leaves, or next to nothing of what was: a clipped or broken record is no better read otherwise.
    if (left < NEXT_TO_NOTHING * now || left * spreadOf(record, reading.apply) < IN_ORDER ** 2)
      best = { reading, left };
  }
  if (best === null) return stuckTopBit(record, seen, fit, now);
  const { reading, left } = best;
  const ratio = now / Math.max(left, 1e-12);
  return [
    {
      id: reading.id,
      severity: "error",
      text: `With ${reading.what} the stimulus explains the record ${ratio > 1000 ? "over 1000" : say.number(ratio)} times better (in power) than with the codes as they stand.`,
      cause: reading.cause,
      advice: reading.advice,
      readings: [[0, record.codes.length - 1]],
      nulls: ALL_METRICS,
    },
  ];
}

/** Variance of the codes after a rereading. */
function spreadOf(record: CaptureRecord, apply: (code: number) => number): number {
  const { codes } = record;
  const count = Math.min(codes.length, LOOKED_AT);
  const stride = record.stimulus?.kind === "sine" ? 1 : Math.max(1, Math.floor(codes.length / LOOKED_AT));
  let sum = 0;
  let squares = 0;
  const shift = apply(codes[0]!);
  for (let i = 0; i < count; i++) {
    const y = apply(codes[i * stride]!) - shift;
    sum += y;
    squares += y * y;
  }
  return Math.max(0, squares - (sum * sum) / count) / count;
}

function rereadings(bits: number, declaredSigned: boolean): Rereading[] {
  const turned = declaredSigned ? 1 << (bits - 1) : 0;
  const list: Rereading[] = [
    {
      id: "sign-mismatch",
      what: "the top bit turned over",
      cause: declaredSigned
        ? "The log holds plain or offset binary, but the bench file declares two's complement."
        : "The log holds two's complement, but the bench file declares plain binary.",
      advice: declaredSigned ? "Declare `coding: binary` or `offset-binary`." : "Declare `coding: twos-complement`.",
      apply: (y) => y ^ (1 << (bits - 1)),
    },
  ];
  if (bits > 8 && bits <= 16)
    list.push({
      id: "byte-swapped",
      what: "the two bytes of each word exchanged",
      cause: "The firmware sent the word in one byte order and the receiver put it together in the other.",
      advice: "Exchange the bytes when the words are put together.",
      // Two's complement words were shifted to plain codes after their bytes had changed places.
      apply: (y) => {
        const word = y ^ turned;
        return ((((word & 0xff) << 8) | (word >> 8)) & (2 ** bits - 1)) ^ turned;
      },
    });
  for (let high = 1; high < Math.min(bits, 31); high++)
    for (let low = 0; low < high; low++) {
      const mask = (1 << high) | (1 << low);
      list.push({
        id: "stuck-bit",
        what: `bits ${low} and ${high} exchanged`,
        cause: `Data lines ${low} and ${high} are exchanged on the board or in the firmware's pin table.`,
        advice: "Check the order of the data lines in the schematic and in the pin table.",
        apply: (y) => (((y >> high) & 1) === ((y >> low) & 1) ? y : y ^ mask),
      });
    }
  return list;
}

type Judge = (apply: (code: number) => number, far: boolean) => number;

/** A function that says which share of the record's power the stimulus leaves unexplained after a rereading; null where nothing can be said. */
function unexplainedBy(record: CaptureRecord, seen: Survey, fit: SineFit | null): Judge | null {
  const { stimulus, codes, scale } = record;
  const count = Math.min(codes.length, LOOKED_AT);
  const top = scale.topCode;
  if (stimulus?.kind === "sine") {
    const starts = new Set<number>();
    if (fit !== null) starts.add(fit.cyclesPerReading);
    const isExpected = stimulus.frequency !== null && record.spec.sampleRate !== null;
    if (isExpected) starts.add(expectedCycles(stimulus.frequency!, record.spec.sampleRate!));
    const railed = seen.atBottom + seen.atTop > 0.01 * seen.readings;
    const use = (y: number): boolean => !railed || (y > 0 && y < top);
    return (apply, far) => {
      const values = new Float64Array(count);
      let used = 0;
      for (let n = 0; n < count; n++) if (use(codes[n]!)) used++;
      if (used < 16) return 1;
      for (let n = 0; n < count; n++) values[n] = apply(codes[n]!);
      let least = 1;
      for (const c of starts) least = Math.min(least, sineShare(codes, values, count, c, use));
      // A rereading that changes the signal altogether may show a tone where there was none, or was another: codes that wrap around have stronger harmonics than fundamental.
      if (far && !isExpected) {
        const found = fitSine(values);
        if (found) least = Math.min(least, sineShare(codes, values, count, found.cyclesPerReading, use));
      }
      return least;
    };
  }
  if (stimulus?.kind === "ramp") {
    const stride = Math.max(1, Math.floor(codes.length / LOOKED_AT));
    const inner = (y: number): boolean => y > 0 && y < top;
    return (apply) => {
      const line = new Line();
      for (let n = 0; n < codes.length; n += stride) if (inner(codes[n]!)) line.add(n, apply(codes[n]!));
      return line.unexplained();
    };
  }
  const volts = steppedVolts(record);
  if (volts !== null) {
    const stride = Math.max(1, Math.floor(codes.length / LOOKED_AT));
    return (apply) => {
      const line = new Line();
      for (let n = 0; n < codes.length; n += stride)
        if (codes[n]! > 0 && codes[n]! < top && Number.isFinite(volts[n]!)) line.add(volts[n]!, apply(codes[n]!));
      return line.unexplained();
    };
  }
  if (stimulus?.kind === "triangle") {
    // Its period is not known: a straight run has no second differences, a code put together wrongly has large ones.
    const run = Math.min(codes.length, 8 * LOOKED_AT);
    return (apply) => {
      let bends = 0;
      let mean = 0;
      let squares = 0;
      let before = apply(codes[0]!);
      let here = apply(codes[1]!);
      for (let n = 2; n < run; n++) {
        const next = apply(codes[n]!);
        bends += (next - 2 * here + before) ** 2;
        const delta = next - mean;
        mean += delta / (n - 1);
        squares += delta * (next - mean);
        before = here;
        here = next;
      }
      return squares > 0 ? bends / 6 / squares : 1;
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

/** Whether more than one reading in ten stands away from the commonest code and its neighbours: not only a few upset ones. */
function isSpread(seen: Survey): boolean {
  if (seen.counts === null) return true;
  let near = 0;
  for (let i = 0; i < seen.counts.length; i++)
    near = Math.max(near, (seen.counts[i - 1] ?? 0) + seen.counts[i]! + (seen.counts[i + 1] ?? 0));
  return near < 0.9 * seen.readings;
}

/** Running least-squares line; the share of y's power that it leaves. */
class Line {
  private n = 0;
  private mx = 0;
  private my = 0;
  private sxx = 0;
  private sxy = 0;
  private syy = 0;
  add(x: number, y: number): void {
    this.n++;
    const dx = x - this.mx;
    const dy = y - this.my;
    this.mx += dx / this.n;
    this.my += dy / this.n;
    this.sxx += dx * (x - this.mx);
    this.sxy += dx * (y - this.my);
    this.syy += dy * (y - this.my);
  }
  unexplained(): number {
    if (this.n < 32 || !(this.sxx > 0) || !(this.syy > 0)) return 1;
    return Math.max(0, 1 - (this.sxy * this.sxy) / (this.sxx * this.syy));
  }
}

/** 1 − R² of a three-parameter sine at c cycles per reading. */
function sineShare(
  codes: Int32Array,
  values: Float64Array,
  count: number,
  c: number,
  use: (code: number) => boolean,
): number {
  const omega = 2 * Math.PI * c;
  let n = 0;
  let sc = 0;
  let ss = 0;
  let scc = 0;
  let scs = 0;
  let sy = 0;
  let syy = 0;
  let syc = 0;
  let sys = 0;
  const stepC = Math.cos(omega);
  const stepS = Math.sin(omega);
  let x = 1;
  let z = 0;
  const shift = values[0]!;
  for (let i = 0; i < count; i++) {
    if (use(codes[i]!)) {
      const y = values[i]! - shift;
      n++;
      sc += x;
      ss += z;
      scc += x * x;
      scs += x * z;
      sy += y;
      syy += y * y;
      syc += y * x;
      sys += y * z;
    }
    const next = x * stepC - z * stepS;
    z = z * stepC + x * stepS;
    x = next;
  }
  const cc = scc - (sc * sc) / n;
  const cs = scs - (sc * ss) / n;
  const sq = n - scc - (ss * ss) / n;
  const yc = syc - (sy * sc) / n;
  const ys = sys - (sy * ss) / n;
  const yy = syy - (sy * sy) / n;
  const det = cc * sq - cs * cs;
  if (!(yy > 0) || !(det > 1e-9 * n * n)) return 1;
  const a = (yc * sq - ys * cs) / det;
  const b = (ys * cc - yc * cs) / det;
  return Math.max(0, 1 - (a * yc + b * ys) / yy);
}

/**
 * A high bit that never changes, so that the codes span too little for constantBits: the record must be badly explained as it is (more than 2 % of
 * its power), and well explained (a tenth of that) once the bit is put back where the stated stimulus has it.
 */
function stuckTopBit(record: CaptureRecord, seen: Survey, fit: SineFit | null, now: number): Finding[] {
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
          {
            id: "stuck-bit",
            severity: "error",
            text: `Bit ${bit} (weight ${say.count(2 ** bit)}) is always ${isOne ? 1 : 0}, but the stated stimulus needs it in ${say.ratio(moved / count)} of the readings, where the codes jump by its weight.`,
            cause: "A data line that is open or shorted, a pin in the wrong mode, or a mask in the firmware.",
            advice: "Probe that line while the input moves slowly; compare the register in a debugger with the log.",
            readings: [[0, codes.length - 1]],
            nulls: ALL_METRICS,
          },
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
      {
        id: "stuck-bit",
        severity: "error",
        text: `Bit ${bit} (weight ${say.count(weight)}) is always ${isOne}, and the triangle jumps by its weight ${say.count(jumps)} times.`,
        cause: "A data line that is open or shorted, a pin in the wrong mode, or a mask in the firmware.",
        advice: "Probe that line while the input moves slowly; compare the register in a debugger with the log.",
        readings: [[0, codes.length - 1]],
        nulls: ALL_METRICS,
      },
    ];
  }
  return [];
}
