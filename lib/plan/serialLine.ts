import type { SerialLink } from "../bench/bench.ts";
import type { Hertz } from "../bench/units.ts";

/** Whether the serial line carries the readings as fast as they come. */
export interface SerialLoad {
  readonly bytesPerLine: number;
  /** The bench file does not say how long a line is; decimal digits and CR LF are taken. */
  readonly isAssumed: boolean;
  /** Readings per second that the line carries. */
  readonly carries: Hertz;
  readonly keepsUp: boolean;
  /** Symbols per second that would keep up. */
  readonly baudNeeded: number;
  /** Share of the line that the readings take. */
  readonly load: number;
}

/**
 * @param rate     logged readings per second, all channels together
 * @param topCode  the largest code, for the length of a line where none is stated
 */
export function serialLoad(link: SerialLink, rate: Hertz, topCode: number): SerialLoad {
  const bytesPerLine = link.bytesPerLine ?? String(topCode).length + 2;
  const bitsPerReading = bytesPerLine * link.bitsPerByte;
  const carries = link.baud / bitsPerReading;
  return {
    bytesPerLine,
    isAssumed: link.bytesPerLine === null,
    carries,
    keepsUp: rate <= carries,
    baudNeeded: Math.ceil(rate * bitsPerReading),
    load: rate / carries,
  };
}
