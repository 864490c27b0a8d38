import type { FindingId } from "./finding.ts";

/** Another reading of the same words: what each code would be if the words had been put together differently. */
export interface Rereading {
  readonly id: FindingId;
  readonly what: string;
  readonly cause: string;
  readonly advice: string;
  readonly apply: (code: number) => number;
}

/**
 * All rereadings that are tried: the sign, the order of the bytes, and each pair of lines exchanged.
 * @param declaredSigned  two's complement by the bench file
 */
export function rereadings(bits: number, declaredSigned: boolean): Rereading[] {
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
  return [...list, ...exchanges(bits)];
}

/**
 * Rereadings for kernels: each moves or turns over lines, so that its code of 0 and what each line that is 1 turns over in that say all about it.
 * @param bits  in use
 * @returns bits + 1 numbers for each
 */
export function asLines(rereadings: readonly Pick<Rereading, "apply">[], bits: number): Int32Array {
  const lines = new Int32Array(rereadings.length * (bits + 1));
  rereadings.forEach(({ apply }, r) => {
    const at = r * (bits + 1);
    lines[at] = apply(0);
    for (let bit = 0; bit < bits; bit++) lines[at + 1 + bit] = apply(1 << bit) ^ lines[at]!;
  });
  return lines;
}

/** Each pair of lines exchanged. */
export function exchanges(bits: number): Rereading[] {
  const list: Rereading[] = [];
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
