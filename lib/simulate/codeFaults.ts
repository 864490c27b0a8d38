import type { Converter } from "../bench/bench.ts";
import type { Stretch } from "../capture/record.ts";
import type { Random } from "../signal/random.ts";
import type { PlantedFault } from "./faults.ts";

/**
 * Faults of the digital path: wires of a parallel bus, shifts in firmware, single upset readings. Changes `codes` in place.
 * @param bits  of the codes as they are
 * @returns where, for the faults that have a place
 */
export function plantCodeFaults(
  codes: Int32Array,
  bits: number,
  faults: readonly PlantedFault[],
  random: Random,
): ReadonlyMap<PlantedFault, readonly Stretch[]> {
  const where = new Map<PlantedFault, Stretch[]>();
  const each = (change: (code: number) => number): void => {
    for (let n = 0; n < codes.length; n++) codes[n] = change(codes[n]!);
  };
  for (const fault of faults) {
    const { name, size, second, at } = fault;
    const bit = Math.round(size);
    if (name === "stuck-low") each((c) => c & ~(1 << bit));
    else if (name === "stuck-high") each((c) => c | (1 << bit));
    else if (name === "low-bits") each((c) => (c >> bit) << bit);
    else if (name === "swapped-bits") {
      const other = second === null ? bit + 1 : Math.round(second);
      each((c) => (((c >> bit) & 1) === ((c >> other) & 1) ? c : c ^ ((1 << bit) | (1 << other))));
    } else if (name === "outliers") {
      const hit: number[] = [];
      for (let i = 0; i < size; i++) {
        const n = i === 0 && at !== null ? at : Math.floor(codes.length * random.uniform());
        codes[n] = codes[n]! ^ (1 << (bits - 1 - Math.floor(3 * random.uniform())));
        hit.push(n);
      }
      where.set(
        fault,
        [...new Set(hit)].sort((a, b) => a - b).map((n) => [n, n] as const),
      );
    }
  }
  return where;
}

/** The logged words of plain codes by the converter's coding and alignment, and the faults of their writing. */
export function wordsOf(codes: Int32Array, converter: Converter, faults: readonly PlantedFault[]): Int32Array {
  const { bits, coding, align, container, averaging } = converter;
  const wrongSign = faults.some((f) => f.name === "sign");
  const swapped = faults.some((f) => f.name === "byte-swapped");
  const shifted = faults.find((f) => f.name === "left-aligned");
  const signed = (coding === "twos-complement") !== wrongSign;
  const shift = (align === "left" ? container - bits : 0) + Math.round(shifted?.size ?? 0);
  // A firmware sum of two's complement codes is two's complement about its own middle.
  const half = 2 ** (bits - 1) * (averaging === null ? 1 : averaging.readings / 2 ** averaging.shift);
  const words = new Int32Array(codes.length);
  for (let n = 0; n < codes.length; n++) {
    let word = signed ? codes[n]! - half : codes[n]!;
    word *= 2 ** shift;
    if (swapped) word = ((word & 0xff) << 8) | ((word >> 8) & 0xff);
    words[n] = word;
  }
  return words;
}
