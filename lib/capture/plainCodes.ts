import type { Converter } from "../bench/bench.ts";
import { scaleOf } from "../bench/scale.ts";

/**
 * Logged words as plain codes 0…topCode: the alignment is undone, then two's complement is shifted to offset binary. Offset binary is plain already.
 * Two's complement may have been printed signed, masked to the converter's bits, or sign-extended to 16, 24 or 32 bits: each is recognised by its value.
 * @param words    as logged
 * @param remarks  what had to be said is added here
 * @returns the same array where nothing had to be undone; a code outside the range stays outside
 */
export function plainCodes(words: Int32Array, converter: Converter, remarks: string[] = []): Int32Array {
  let codes = words;
  if (converter.align === "left") codes = rightAligned(codes, converter, remarks);
  if (converter.coding !== "twos-complement") return codes;

  const scale = scaleOf(converter);
  // Averaging stretches the range: the sum of r codes shifted right by s.
  const stretch = converter.averaging === null ? 1 : converter.averaging.readings / 2 ** converter.averaging.shift;
  const half = Math.round(2 ** (converter.bits - 1) * stretch);
  const full = 2 ** Math.ceil(Math.log2(scale.topCode + 1));
  let printedSigned = false;
  for (let i = 0; i < codes.length; i++) {
    if (codes[i]! < 0) {
      printedSigned = true;
      break;
    }
  }
  // 32-bit words above 2^31 − 1 arrive signed as well; then the log still prints unsigned words of 32 bits, which sign extension makes the same.
  const out = new Int32Array(codes.length);
  for (let i = 0; i < codes.length; i++) {
    let v = codes[i]!;
    if (!printedSigned && v >= half) {
      if (v < full) v -= full;
      else if (v < 0x10000 && v >= 0x10000 - half) v -= 0x10000;
      else if (v < 0x1000000 && v >= 0x1000000 - half) v -= 0x1000000;
    }
    out[i] = v + half;
  }
  return out;
}

function rightAligned(words: Int32Array, converter: Converter, remarks: string[]): Int32Array {
  const down = converter.container - converter.bits;
  if (down <= 0) return words;
  const out = new Int32Array(words.length);
  const below = 2 ** down - 1;
  let dirty = 0;
  for (let i = 0; i < words.length; i++) {
    const w = words[i]!;
    if ((w & below) !== 0) dirty++;
    // Signed words keep their sign; the container's upper half, printed unsigned, stays unsigned.
    out[i] = Math.floor(w / 2 ** down);
  }
  if (dirty > 0) {
    remarks.push(
      `${dirty} of ${words.length} readings have bits set below the left-aligned code: they may not be left-aligned in ${converter.container} bits; those bits were left out`,
    );
  }
  return out;
}
