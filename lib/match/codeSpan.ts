import type { CaptureRecord } from "../capture/record.ts";
import type { Finding } from "./finding.ts";
import { ALL_METRICS } from "./metricGroups.ts";
import { say } from "./say.ts";
import type { Survey } from "./survey.ts";
import { swappedLevel } from "./swappedLevel.ts";

/**
 * Codes that do not fit the declared resolution: printed with another sign, shifted up in their word, bytes exchanged, or simply of more bits.
 * No statistics is needed: a sound log has no code outside 0…topCode. Up to one reading in a hundred outside counts as single upsets
 * (outliers), not as the log's format.
 */
export function codesOutside(record: CaptureRecord, seen: Survey): Finding[] {
  const { spec, scale, codes } = record;
  const top = scale.topCode;
  const outside = seen.below + seen.above;
  if (outside <= 0.01 * seen.readings || seen.readings === 0) return [];
  const { bits, container, align, coding } = spec.converter;
  const whole = [0, codes.length - 1] as const;
  const base = { severity: "error", readings: [whole], nulls: ALL_METRICS } as const;
  const range = `codes run from ${say.count(seen.min)} to ${say.count(seen.max)}, where ${say.number(scale.bits)} bits allow 0 to ${say.count(top)}`;

  const words = record.log.channels.find((c) => c.name === record.channel)?.codes ?? codes;
  const swapped = swappedBytes(words, bits, coding === "twos-complement");
  if (swapped || swappedLevel(record))
    return [
      {
        ...base,
        id: "byte-swapped",
        text: `The ${range}; with the two bytes of each 16-bit word exchanged they fit, and ${swapped ? `neighbouring readings lie ${say.number(swapped)} times closer together` : "the level stands where it is stated"}.`,
        cause: "The firmware sent the word in one byte order and the receiver put it together in the other.",
        advice:
          "Exchange the bytes when the words are put together (or give `bytes: big-endian` or `little-endian` where bytes were logged).",
      },
    ];
  const halfRange = (top + 1) / 2;
  if (coding !== "twos-complement" && seen.below > 0 && seen.min >= -halfRange && seen.max < halfRange)
    return [
      {
        ...base,
        id: "sign-mismatch",
        text: `${say.plural(seen.below, "reading is", "readings are")} negative (${say.count(seen.min)} to ${say.count(seen.max)}), but the bench file declares ${coding}.`,
        cause: "The converter delivers two's complement, or the firmware printed the word as a signed number.",
        advice: "Declare `coding: twos-complement`, or print the register as an unsigned number.",
      },
    ];
  const wrap = wrappedWords(codes, top);
  if (coding !== "twos-complement" && wrap !== null)
    return [
      {
        ...base,
        id: "sign-mismatch",
        text: `Codes lie from 0 to ${say.count(wrap.low)} and again just below ${say.count(wrap.modulus)}, nothing between: negative numbers printed as unsigned ${say.number(Math.log2(wrap.modulus))}-bit words, but the bench file declares ${coding}.`,
        cause: "The converter delivers two's complement and the word was printed as unsigned.",
        advice: "Declare `coding: twos-complement`.",
      },
    ];
  const zeros = lowZeros(words);
  const [least, most] = extremes(words);
  const signed = coding === "twos-complement";
  // Two's complement may have been printed as an unsigned word.
  const [bottom, ceiling] = signed && least < 0 ? [-halfRange, halfRange - 1] : [0, top];
  const fits = zeros > 0 && least / 2 ** zeros >= bottom && most / 2 ** zeros <= ceiling;
  // A quiet level gives too few words to know its low bits by; that the code then stands where it is expected tells.
  const isTold = seen.distinct >= 3 || agreesWithLevel(record, words, zeros);
  if (align === "right" && fits && isTold)
    return [
      {
        ...base,
        id: "left-aligned",
        text: `The ${range}, and the low ${say.plural(zeros, "bit is", "bits are")} 0 in every word: shifted down by ${zeros} the words run from ${say.count(least / 2 ** zeros)} to ${say.count(most / 2 ** zeros)}.`,
        cause: "The data register is left-aligned: the code sits at the top of its word.",
        advice: `Declare \`align: left\` with \`container: ${Math.max(container, bits + zeros)}\`, or set the register to right alignment.`,
      },
    ];
  const needed = Math.max(1, Math.ceil(Math.log2(Math.max(seen.max + 1, 2 * Math.abs(Math.min(0, seen.min))))));
  return [
    {
      ...base,
      id: "wider-than-declared",
      text: `The ${range}: at least ${needed} bits are in use.`,
      cause:
        "The converter runs at a higher resolution than the bench file declares, or the firmware sums several conversions.",
      advice: `Set \`bits: ${needed}\`, or describe the firmware's sum with \`averaging:\`.`,
    },
  ];
}

/** Whether the words of a quiet level, taken from the top of a 16-bit word (of a longer one for 16 bits and more), stand within 2 % of full scale of where the stated level puts them. */
function agreesWithLevel({ stimulus, scale, spec }: CaptureRecord, words: Int32Array, zeros: number): boolean {
  const { bits, coding } = spec.converter;
  const shift = bits < 16 ? 16 - bits : Math.ceil(bits / 4 + 1) * 4 - bits;
  if (stimulus?.kind !== "steady" || stimulus.voltage === null || zeros < shift) return false;
  const word = words[words.length >> 1]! / 2 ** shift;
  const full = 2 ** bits;
  const plain = coding === "twos-complement" ? (word + 1.5 * full) % full : word;
  return Math.abs(plain - (stimulus.voltage - scale.low) / scale.lsb) < 0.02 * (scale.topCode + 1);
}

/** How many times closer neighbouring words lie once their bytes are exchanged; null where that does not make them fit. */
function swappedBytes(words: Int32Array, bits: number, signed: boolean): number | null {
  if (bits > 16 || bits <= 8) return null;
  const limit = 2 ** bits;
  let before = 0;
  let after = 0;
  let previous = Number.NaN;
  let previousSwapped = Number.NaN;
  for (let n = 0; n < Math.min(words.length, 20_000); n++) {
    const word = words[n]!;
    if (word < -32_768 || word > 65_535) return null;
    let swapped = ((word & 0xff) << 8) | ((word >> 8) & 0xff);
    if (signed && swapped >= 32_768) swapped -= 65_536;
    if (signed ? swapped < -limit / 2 || swapped >= limit : swapped >= limit) return null;
    if (n > 0) {
      before += Math.abs(word - previous);
      after += Math.abs(swapped - previousSwapped);
    }
    previous = word;
    previousSwapped = swapped;
  }
  const ratio = before / Math.max(after, 1e-9);
  // The swapped words span 2^bits of 2^16, so that even white noise comes closer by 2^(16−bits); only a little more is asked for.
  return ratio > 1.5 ? Math.min(ratio, 1e6) : null;
}

/** Unsigned words of 16, 24 or 32 bits that hold negative numbers: a small group at the bottom, another at the very top, nothing between. */
function wrappedWords(codes: Int32Array, top: number): { low: number; modulus: number } | null {
  const half = (top + 1) / 2;
  for (const modulus of [2 ** 16, 2 ** 24]) {
    if (modulus <= top + 1) continue;
    let low = 0;
    let wrapped = 0;
    let fits = true;
    for (let n = 0; n < codes.length && fits; n++) {
      const y = codes[n]!;
      if (y >= 0 && y < half) low = Math.max(low, y);
      else if (y >= modulus - half && y < modulus) wrapped++;
      else fits = false;
    }
    if (fits && wrapped > 0) return { low, modulus };
  }
  return null;
}

/** Bits at the bottom that are 0 in every word. */
function lowZeros(words: Int32Array): number {
  let or = 0;
  for (let n = 0; n < words.length; n++) or |= words[n]!;
  return or === 0 ? 0 : 31 - Math.clz32(or & -or);
}

function extremes(words: Int32Array): readonly [number, number] {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (let n = 0; n < words.length; n++) {
    least = Math.min(least, words[n]!);
    most = Math.max(most, words[n]!);
  }
  return [least, most];
}
