import type { CaptureRecord } from "../capture/record.ts";
import { median } from "../signal/median.ts";

/** Share of the range within which a level must stand once its bytes are exchanged, and beyond which it must stand before. */
const NEAR = 0.005;
const FAR = 0.02;

/**
 * Whether a steady level, however quiet, stands where it is stated once the two bytes of its words are exchanged, and far from there as it is: of wrong levels one in a hundred does so by
 * chance. For records whose readings vary too little to tell the bytes by.
 */
export function swappedLevel(record: CaptureRecord): boolean {
  const { codes, scale, spec, stimulus } = record;
  const { bits, coding } = spec.converter;
  if (stimulus?.kind !== "steady" || stimulus.voltage === null || bits <= 8 || bits > 16) return false;
  const full = 2 ** bits;
  const turned = coding === "twos-complement" ? full / 2 : 0;
  const expected = (stimulus.voltage - scale.low) / scale.lsb;
  // A record in order needs no median of all its readings.
  const isFar = (code: number): boolean => Math.abs(code - expected) > FAR * full;
  if (codes.length === 0 || !isFar(codes[codes.length >> 1]!)) return false;
  const level = median(codes);
  // Two's complement words were shifted to plain codes after their bytes had changed places.
  const word = (Math.round(level) - turned) & 0xffff;
  const swapped = ((word & 0xff) << 8) | (word >> 8);
  const plain = turned === 0 ? swapped : ((swapped & (full - 1)) + turned) % full;
  return Math.abs(plain - expected) < NEAR * full && isFar(level);
}
