import type { CaptureRecord } from "../capture/record.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { FALSE_ALARM } from "./context.ts";

/** What a tone on one channel leaves on another channel of the same log. */
export interface NeighbourTone {
  readonly channel: string;
  /** Amplitude at the tone's frequency over the tone's own, freed of what noise adds; 0 or more. */
  readonly ratio: number;
  /** Standard uncertainty of the ratio, from the neighbour's noise. */
  readonly standard: number;
  /** In LSB of the neighbour. */
  readonly amplitude: number;
  readonly isSignificant: boolean;
}

/** A neighbour with more than this share of the tone is driven on purpose. */
const DRIVEN = 0.1;
/** Lines of the quantiser itself, and what no one can act on, stay below this. */
const LEAST_LSB = 0.1;

/**
 * Every other channel of the log, at the frequency fitted to this one. The squared amplitude of white noise at one frequency is exponentially distributed, so
 * that A²/(2u²) > ln(1/FALSE_ALARM) is a line.
 * Words of both channels are compared as logged: the same coding and alignment are taken for granted.
 */
export function neighbourTones(record: CaptureRecord, fit: SineFit): NeighbourTone[] {
  const { converter } = record.spec;
  const shift = converter.align === "left" ? 2 ** (converter.container - converter.bits) : 1;
  const found: NeighbourTone[] = [];
  for (const { name, codes } of neighbours(record)) {
    if (codes.length < 32) continue;
    let constant = true;
    for (let n = 1; n < codes.length && constant; n++) constant = codes[n] === codes[0];
    if (constant) {
      // A neighbour that never moves shows nothing above half a code.
      found.push({ channel: name, ratio: 0, standard: 0.25 / fit.amplitude, amplitude: 0, isSignificant: false });
      continue;
    }
    const line = fitSine(codes, { frequency: fit.cyclesPerReading, fixed: true, exclude: Number.isNaN });
    if (line === null) continue;
    const amplitude = line.amplitude / shift;
    const u = Math.max(line.standard.amplitude / shift, 1e-6);
    if (amplitude > DRIVEN * fit.amplitude) continue;
    const isSignificant = amplitude > LEAST_LSB && (amplitude / u) ** 2 / 2 > -Math.log(FALSE_ALARM);
    const debiased = Math.sqrt(Math.max(0, amplitude ** 2 - 2 * u ** 2));
    found.push({
      channel: name,
      ratio: debiased / fit.amplitude,
      standard: u / fit.amplitude,
      amplitude,
      isSignificant,
    });
  }
  return found;
}

/** The log's other channels: read as such, or as columns beside the one that was asked for. */
function neighbours({ log, channel }: CaptureRecord): { name: string; codes: ArrayLike<number> }[] {
  const beside = [...log.columns].map(([name, codes]) => ({ name, codes }));
  return [...log.channels, ...beside].filter(({ name }) => name !== channel);
}
