import type { Converter } from "../bench/bench.ts";
import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Hertz } from "../bench/units.ts";

/** A rate for a bench file that states none: the converter's timing bits, else about 14 readings a cycle of the tone, else 10 kHz. */
export function rateFor(converter: Converter, stimulus: PinStimulus): Hertz {
  const { timing } = converter;
  if (timing !== null) return timing.clock / (timing.sampleCycles + timing.conversionCycles + timing.overheadCycles);
  if (stimulus.kind === "sine" && stimulus.frequency !== null) return stimulus.frequency / 0.0713;
  return 10_000;
}
