import type { Detector } from "./context.ts";
import { CLOCK_ALLOWANCE } from "./sampleRate.ts";
import { say } from "./say.ts";

/** A converter's own clock is often an RC oscillator; common practice. */
const CONVERTER_CLOCK = 0.03;

/**
 * Bases of the sample rate that contradict each other: the stated rate against the time stamps, and a rate that the converter's timing bits do not allow. A loop
 * that is slower than the bits is no contradiction unless the bench states its overhead. The stamps' own resolution, 200 ppm for two
 * crystals and 3 % for a converter's clock are allowed for: bounds, no statistics.
 */
export const rateMismatch: Detector = ({ record, evidence, rate }) => {
  const { stated, stamped, timing } = evidence;
  const bits = record.spec.converter.timing;
  const told: string[] = [];
  if (stated !== null && stamped !== null) {
    const apart = Math.abs(stamped.rate / stated - 1);
    if (apart > CLOCK_ALLOWANCE + 2 * stamped.limit)
      told.push(
        `${say.hertz(stated)} is stated, but the time stamps give ${say.hertz(stamped.rate)} (${say.ratio(apart)} apart)`,
      );
  }
  if (rate !== null && timing !== null && bits !== null && rate.basis !== "timing") {
    const busy = bits.sampleCycles + bits.conversionCycles;
    const fastest = bits.clock / busy;
    if (rate.value > fastest * (1 + CONVERTER_CLOCK))
      told.push(
        `${say.hertz(rate.value)} is faster than the timing bits allow: ${say.number(busy)} clocks of ${say.hertz(bits.clock)} make ${say.hertz(fastest)} at most`,
      );
    else if (bits.overheadCycles > 0 && Math.abs(rate.value / timing - 1) > CONVERTER_CLOCK)
      told.push(
        `${say.hertz(rate.value)} is ${say.number(bits.clock / rate.value)} clocks a reading, but sampling, conversion and the stated overhead make ${say.number(busy + bits.overheadCycles)}`,
      );
  }
  if (told.length === 0) return [];
  return [
    {
      id: "rate-mismatch",
      severity: "warning",
      text: `${told.join("; ").replace(/^./, (c) => c.toUpperCase())}.`,
      cause: "The timer, the converter's clock divider or its sampling time is set otherwise than the bench file says.",
      advice: "Read the clock and timing registers; measure the rate with a pin that toggles at each conversion.",
      readings: [[0, Math.max(0, record.codes.length - 1)]],
      nulls: [],
    },
  ];
};
