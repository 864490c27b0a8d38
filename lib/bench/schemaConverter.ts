import type * as z from "zod";
import { choice, flag, group, numberChoice, optional, quantity, whole } from "./field.ts";
import { lowBelowHigh, ON_ANY_MAP, ratioLimit, voltLimit, volts } from "./schemaQuantities.ts";

const range = {
  low: () => volts("Lower end of the converter's range. Default 0 V."),
  high: () => volts("Upper end of the converter's range, nominal: normally the reference."),
};

const timing = {
  clock: () =>
    quantity("frequency", {
      describe: "The converter's clock. With sampleCycles and conversionCycles it gives the time of one reading.",
      atLeast: 1,
      expected: "a frequency of at least 1 Hz, such as 4 MHz (M is mega, m is milli)",
    }),
  sampleCycles: () =>
    quantity("count", { describe: "Clocks during which the input is sampled.", atLeast: 0, atMost: 1e9 }),
  conversionCycles: () => quantity("count", { describe: "Clocks of the conversion itself.", atLeast: 0, atMost: 1e9 }),
  overheadCycles: () =>
    quantity("count", {
      describe: "Clocks lost between two readings. Default 0.",
      atLeast: 0,
      atMost: 1e9,
    }),
};

const inputCircuit = () =>
  group("What drives the sampling capacitor.", {
    sourceResistance: optional(() =>
      quantity("resistance", {
        describe: "Resistance between the source and the pin.",
        atLeast: 0,
      }),
    ),
    switchResistance: optional(() =>
      quantity("resistance", {
        describe: "The converter's own sampling switch and multiplexer.",
        atLeast: 0,
      }),
    ),
    sampleCapacitance: optional(() =>
      quantity("capacitance", {
        describe: "The sampling capacitor.",
        above: 0,
        atMost: 1e-3,
        expected: "a capacitance above 0, such as 8 pF",
      }),
    ),
    apertureJitter: optional(() =>
      quantity("time", {
        describe: "Scatter of the sampling instant, one standard deviation.",
        atLeast: 0,
        atMost: 1,
        expected: "a time from 0 s to 1 s, such as 2 ns",
      }),
    ),
  });

const pin = () =>
  group("What the pin survives, from its data sheet. Default: the range and 0.3 V beyond it on both sides.", {
    low: optional(() => volts("Lowest voltage the pin survives.")),
    high: optional(() => volts("Highest voltage the pin survives.")),
  }).superRefine(lowBelowHigh, ON_ANY_MAP);

const reference = () =>
  group("The reference as it really is.", {
    measured: optional(() => volts("Measured value of range.high; it replaces range.high.")),
    accuracy: optional(() => voltLimit("± limit of the measured value. Default 0 V.")),
    ratiometric: optional(() =>
      flag("The source is derived from the same reference, so that the reference's error drops out. Default false."),
    ),
  });

const summed = () => whole("Readings summed into one logged code.", 1, 2 ** 20);
const shift = () => whole("Bits by which the sum was shifted right, rounding down. Default 0.", 0, 31);
const averaging = () =>
  group("What the firmware did before it logged: the sum of so many readings, shifted right.", {
    readings: summed(),
    shift: optional(shift),
  });

const bits = () => whole("Resolution N in bits; codes 0 to 2^N − 1.", 1, 32);

const converterShape = {
  bits: bits(),
  coding: optional(() =>
    choice("How a code is written in its word. Default binary.", ["binary", "offset-binary", "twos-complement"]),
  ),
  align: optional(() =>
    choice("left: codes sit at the top of a word of `container` bits. Default right.", ["right", "left"]),
  ),
  container: optional(() =>
    whole("Bits of the word that holds a code. Default 16, or 32 where 16 are too few.", 1, 32),
  ),
  firstTransition: optional(() =>
    numberChoice("Where code 1 begins, in LSB above range.low: 0.5 or 1. Default 0.5.", [0.5, 1]),
  ),
  line: optional(() =>
    choice("The straight line that offset, gain, DNL and INL refer to. Default endpoint.", ["endpoint", "best-fit"]),
  ),
  clock: optional(timing.clock),
  sampleCycles: optional(timing.sampleCycles),
  conversionCycles: optional(timing.conversionCycles),
  overheadCycles: optional(timing.overheadCycles),
  input: optional(inputCircuit),
  pin: optional(pin),
  reference: optional(reference),
  averaging: optional(averaging),
};

/** The bench-wide converter: bits and range are required. */
export const converter = group("The converter under test.", {
  ...converterShape,
  range: group("The converter's range.", { low: optional(range.low), high: range.high() }).superRefine(
    lowBelowHigh,
    ON_ANY_MAP,
  ),
});

/** What a capture may change of it. */
export const converterOverride = () =>
  group("What this capture's converter setting changes.", {
    ...converterShape,
    bits: optional(bits),
    range: optional(() =>
      group("The converter's range.", { low: optional(range.low), high: optional(range.high) }).superRefine(
        lowBelowHigh,
        ON_ANY_MAP,
      ),
    ),
    averaging: optional(() =>
      group("What the firmware did before it logged.", {
        readings: optional(summed),
        shift: optional(shift),
      }),
    ),
  });

/** Divider or buffer before the pin. */
export const frontEnd = () =>
  group("Divider or buffer between source and pin: V(pin) = gain·V(source) + offset.", {
    gain: optional(() =>
      quantity("ratio", {
        describe: "Gain; 0.5 for a divider by two, negative where it inverts. Default 1.",
        nonZero: true,
        expected: "a gain other than zero, such as 0.5",
      }),
    ),
    offset: optional(() => volts("Voltage added at the pin. Default 0 V.")),
    accuracy: optional(() => ratioLimit("± limit of the gain, relative. Default 0.")),
  });

export type ConverterFile = z.output<typeof converter>;
export type ConverterOverrideFile = z.output<ReturnType<typeof converterOverride>>;
export type FrontEndFile = z.output<ReturnType<typeof frontEnd>>;
