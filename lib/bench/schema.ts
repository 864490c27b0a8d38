import * as z from "zod";
import type { LimitMetric } from "./bench.ts";
import {
  choice,
  column,
  eitherQuantity,
  flag,
  group,
  joinMessage,
  list,
  numberChoice,
  quantity,
  text,
  whole,
} from "./field.ts";
import { METRICS } from "./metrics.ts";
import { isMagnitude, LIMIT_METRICS, parseMetricValue, unitOfMetric } from "./metricValue.ts";

/*
 * The bench file (DESIGN §2), defined once: readBench.ts reads by it, jsonSchema.ts hands it to editors. Defaults are filled in by resolveBench.ts, after a capture's
 * overrides have been laid over the bench-wide values. A rule that compares several keys runs even where another key is wrong (`ALWAYS`), so that all mistakes come at once.
 */

const ALWAYS = { when: () => true } as const;

const isNumber = (value: unknown): value is number => typeof value === "number" && Number.isFinite(value);

/** A ± limit of a ratio; bare numbers above 5 % are refused, since 0.5 without a unit is nearly always meant as 0.5 %. */
const ratioLimit = (describe: string) =>
  quantity("ratio", {
    describe,
    atLeast: 0,
    atMost: 1,
    bareAtMost: 0.05,
    expected: "a ratio from 0 to 1 with its unit, such as 0.5 % or 20 ppm",
  });
const voltLimit = (describe: string) =>
  quantity("voltage", { describe, atLeast: 0, expected: "a voltage, not negative, such as 5 mV" });
const volts = (describe: string) => quantity("voltage", { describe });
const hertz = (describe: string) => quantity("frequency", { describe, above: 0 });

const range = {
  low: volts("Lower end of the converter's range. Default 0 V."),
  high: volts("Upper end of the converter's range, nominal: normally the reference."),
};

const timing = {
  clock: quantity("frequency", {
    describe: "The converter's clock. With sampleCycles and conversionCycles it gives the time of one reading.",
    atLeast: 1,
    expected: "a frequency of at least 1 Hz, such as 4 MHz (M is mega, m is milli)",
  }),
  sampleCycles: quantity("count", { describe: "Clocks during which the input is sampled.", atLeast: 0, atMost: 1e9 }),
  conversionCycles: quantity("count", { describe: "Clocks of the conversion itself.", atLeast: 0, atMost: 1e9 }),
  overheadCycles: quantity("count", {
    describe: "Clocks lost between two readings. Default 0.",
    atLeast: 0,
    atMost: 1e9,
  }),
};

const inputCircuit = group("What drives the sampling capacitor.", {
  sourceResistance: quantity("resistance", {
    describe: "Resistance between the source and the pin.",
    atLeast: 0,
  }).optional(),
  switchResistance: quantity("resistance", {
    describe: "The converter's own sampling switch and multiplexer.",
    atLeast: 0,
  }).optional(),
  sampleCapacitance: quantity("capacitance", {
    describe: "The sampling capacitor.",
    above: 0,
    atMost: 1e-3,
    expected: "a capacitance above 0, such as 8 pF",
  }).optional(),
  apertureJitter: quantity("time", {
    describe: "Scatter of the sampling instant, one standard deviation.",
    atLeast: 0,
    atMost: 1,
    expected: "a time from 0 s to 1 s, such as 2 ns",
  }).optional(),
});

const pin = group("What the pin survives, from its data sheet. Default: the range and 0.3 V beyond it on both sides.", {
  low: volts("Lowest voltage the pin survives.").optional(),
  high: volts("Highest voltage the pin survives.").optional(),
}).superRefine((value, context) => {
  if (isNumber(value.low) && isNumber(value.high) && value.high <= value.low)
    context.addIssue({
      code: "custom",
      path: ["high"],
      message: joinMessage(`${value.high} V does not lie above low, ${value.low} V`, "a higher voltage than low"),
    });
}, ALWAYS);

const reference = group("The reference as it really is.", {
  measured: volts("Measured value of range.high; it replaces range.high.").optional(),
  accuracy: voltLimit("± limit of the measured value. Default 0 V.").optional(),
  ratiometric: flag(
    "The source is derived from the same reference, so that the reference's error drops out. Default false.",
  ).optional(),
});

const averaging = group("What the firmware did before it logged: the sum of so many readings, shifted right.", {
  readings: whole("Readings summed into one logged code.", 1, 2 ** 20),
  shift: whole("Bits by which the sum was shifted right, rounding down. Default 0.", 0, 31).optional(),
});

const converterShape = {
  bits: whole("Resolution N in bits; codes 0 to 2^N − 1.", 1, 32),
  coding: choice("How a code is written in its word. Default binary.", [
    "binary",
    "offset-binary",
    "twos-complement",
  ]).optional(),
  align: choice("left: codes sit at the top of a word of `container` bits. Default right.", [
    "right",
    "left",
  ]).optional(),
  container: whole("Bits of the word that holds a code. Default 16, or 32 where 16 are too few.", 1, 32).optional(),
  firstTransition: numberChoice(
    "Where code 1 begins, in LSB above range.low: 0.5 or 1. Default 0.5.",
    [0.5, 1],
  ).optional(),
  line: choice("The straight line that offset, gain, DNL and INL refer to. Default endpoint.", [
    "endpoint",
    "best-fit",
  ]).optional(),
  clock: timing.clock.optional(),
  sampleCycles: timing.sampleCycles.optional(),
  conversionCycles: timing.conversionCycles.optional(),
  overheadCycles: timing.overheadCycles.optional(),
  input: inputCircuit.optional(),
  pin: pin.optional(),
  reference: reference.optional(),
  averaging: averaging.optional(),
};

const converter = group("The converter under test.", {
  ...converterShape,
  range: group("The converter's range.", { low: range.low.optional(), high: range.high }),
});

const converterOverride = group("What this capture's converter setting changes.", {
  ...converterShape,
  bits: converterShape.bits.optional(),
  range: group("The converter's range.", { low: range.low.optional(), high: range.high.optional() }).optional(),
  averaging: group("What the firmware did before it logged.", {
    readings: averaging.shape.readings.optional(),
    shift: averaging.shape.shift,
  }).optional(),
});

const frontEnd = group("Divider or buffer between source and pin: V(pin) = gain·V(source) + offset.", {
  gain: quantity("ratio", {
    describe: "Gain; 0.5 for a divider by two, negative where it inverts. Default 1.",
    nonZero: true,
    expected: "a gain other than zero, such as 0.5",
  }).optional(),
  offset: volts("Voltage added at the pin. Default 0 V.").optional(),
  accuracy: ratioLimit("± limit of the gain, relative. Default 0.").optional(),
});

const conditions = z
  .record(z.string(), z.string({ error: () => "text, a number, or true or false" }))
  .meta({ description: "Free keys (board, firmware, temperature …), carried to results and trends." });

const sineAccuracy = group("The source's ± limits.", {
  frequency: eitherQuantity("ratio", "frequency", {
    describe: "± limit of the frequency, relative or in Hz.",
    atLeast: 0,
    bareAtMost: 0.05,
    expected: "a ratio such as 20 ppm, or a frequency such as 0.1 Hz",
  }).optional(),
  amplitude: eitherQuantity("ratio", "voltage", {
    describe: "± limit of the amplitude, relative or in volts of the amplitude (peak).",
    atLeast: 0,
    bareAtMost: 0.05,
    expected: "a ratio such as 0.5 %, or a voltage such as 5 mV",
  }).optional(),
  offset: voltLimit("± limit of the offset.").optional(),
});

const levelAccuracy = group("The source's ± limits.", {
  gain: ratioLimit("± limit relative to the voltage set.").optional(),
  offset: voltLimit("± limit at 0 V.").optional(),
  linearity: ratioLimit("± departure from the source's own straight line, relative to the span applied.").optional(),
  repeatability: voltLimit("± fresh error each time a level is set.").optional(),
});

const sine = group("A sine.", {
  kind: z.literal("sine"),
  frequency: hertz("Frequency at the source.").optional(),
  amplitude: quantity("voltage", { describe: "Peak amplitude.", above: 0 }).optional(),
  peakToPeak: quantity("voltage", { describe: "Peak-to-peak amplitude, instead of amplitude.", above: 0 }).optional(),
  rms: quantity("voltage", {
    describe: "Root-mean-square amplitude without the offset, instead of amplitude.",
    above: 0,
  }).optional(),
  offset: volts("Mean voltage.").optional(),
  accuracy: sineAccuracy.optional(),
  purity: group("The source's own distortion and noise.", {
    thd: eitherQuantity("level", "ratio", {
      describe: "Total harmonic distortion of the source: negative decibels, or %.",
      expected: "negative decibels such as -70 dB, or a ratio such as 0.03 %",
    })
      .refine((value) => (value.dimension === "level" ? value.value < 0 : value.value > 0 && value.value < 1), {
        error: () => "negative decibels such as -70 dB, or a ratio such as 0.03 %",
      })
      .meta({ description: "Total harmonic distortion of the source: negative decibels, or %." })
      .optional(),
    snr: quantity("level", {
      describe: "Signal-to-noise ratio of the source in the converter's band.",
      above: 0,
      expected: "positive decibels such as 75 dB",
    }).optional(),
  }).optional(),
}).superRefine((value, context) => {
  const given = (["amplitude", "peakToPeak", "rms"] as const).filter((key) => value[key] !== undefined);
  for (const key of given.slice(1))
    context.addIssue({
      code: "custom",
      path: [key],
      message: joinMessage(`${given.join(" and ")} are given`, "one of amplitude, peakToPeak, rms"),
    });
  for (const [key, settings] of [
    ["frequency", ["frequency"]],
    ["amplitude", ["amplitude", "peakToPeak", "rms"]],
  ] as const) {
    const limit = value.accuracy?.[key];
    if (limit?.dimension === undefined || limit.dimension === "ratio" || settings.some((s) => value[s] !== undefined))
      continue;
    context.addIssue({
      code: "custom",
      path: ["accuracy", key],
      message: joinMessage(`an absolute limit without ${key} to relate it to`, `${key}, or a ratio such as 0.1 %`),
    });
  }
}, ALWAYS);

const ramp = group("A straight line in time, from the first reading to the last.", {
  kind: z.literal("ramp"),
  from: volts("Voltage at the first reading."),
  to: volts("Voltage at the last reading."),
  duration: quantity("time", { describe: "Time of one pass.", above: 0 }).optional(),
  accuracy: levelAccuracy.optional(),
}).superRefine((value, context) => {
  if (isNumber(value.from) && value.from === value.to)
    context.addIssue({
      code: "custom",
      path: ["to"],
      message: joinMessage(`${value.to} V equals from`, "another voltage than from"),
    });
}, ALWAYS);

const triangle = group("A symmetrical triangle.", {
  kind: z.literal("triangle"),
  low: volts("Lower corner."),
  high: volts("Upper corner."),
  frequency: hertz("Whole triangles per second.").optional(),
  accuracy: levelAccuracy.optional(),
}).superRefine((value, context) => {
  if (isNumber(value.low) && isNumber(value.high) && value.high <= value.low)
    context.addIssue({
      code: "custom",
      path: ["high"],
      message: joinMessage(`${value.high} V does not lie above low, ${value.low} V`, "a higher voltage than low"),
    });
}, ALWAYS);

const steady = group("One steady voltage.", {
  kind: z.literal("steady"),
  voltage: volts("The voltage applied.").optional(),
  accuracy: levelAccuracy.optional(),
});

const steps = group("Known voltages one after the other.", {
  kind: z.literal("steps"),
  column: column("The log's column that holds the applied voltage.").optional(),
  levels: list(
    "the levels in their order",
    group("One level.", {
      voltage: volts("The voltage applied."),
      readings: whole("Readings logged at this level.", 1, 2 ** 31),
    }),
  ).optional(),
  direction: choice("Which way the levels go. Default: as the listed levels go.", ["up", "down", "both"]).optional(),
  accuracy: levelAccuracy.optional(),
}).superRefine((value, context) => {
  if (value.column === undefined && value.levels === undefined)
    context.addIssue({
      code: "custom",
      path: ["levels"],
      message: joinMessage(
        "neither levels nor column is given",
        "levels: a list of voltage and readings, or column: the log's column of applied voltages",
      ),
    });
  if (value.column !== undefined && value.levels !== undefined)
    context.addIssue({
      code: "custom",
      path: ["column"],
      message: joinMessage("both levels and column are given", "one of them"),
    });
}, ALWAYS);

const stimulus = z
  .discriminatedUnion("kind", [sine, ramp, triangle, steady, steps], {
    error: (issue) =>
      issue.code === "invalid_union"
        ? "one of sine, ramp, triangle, steady, steps"
        : "a map with kind: one of sine, ramp, triangle, steady, steps",
  })
  .meta({ description: "What the source applies, at the source (before frontEnd)." });

const USES = ["tone", "histogram", "noise"] as const;
const useExpected = `a list of ${USES.join(", ")}`;

/** Keys of one capture, which may also stand at the top level: for the only capture, or as the default of all. */
const captureShape = {
  channel: column("The channel: a column's header, a tag, or a column number counted from 1.").optional(),
  time: column("The column of time stamps.").optional(),
  timeUnit: choice("Unit of the time stamps.", ["s", "ms", "us", "ns", "clock", "ticks"]).optional(),
  tickRate: hertz("Ticks per second, with timeUnit ticks.").optional(),
  base: numberChoice("Number base of the codes.", [2, 8, 10, 16]).optional(),
  delimiter: z
    .string({ error: () => 'a sign such as ";", or one of comma, semicolon, tab, space, pipe' })
    .min(1, { error: () => 'a sign such as ";", or one of comma, semicolon, tab, space, pipe' })
    .meta({ description: "What separates the columns: the sign itself, or comma, semicolon, tab, space, pipe." })
    .optional(),
  decimal: choice("Decimal sign of numbers that are not codes.", [".", ","]).optional(),
  header: flag("Whether the first line names the columns.").optional(),
  encoding: choice("Character encoding.", ["utf-8", "utf-16le", "utf-16be", "latin1"]).optional(),
  sequence: column("The column of sequence numbers.").optional(),
  interleave: list(
    "the channels' names, in the order in which their readings follow each other",
    text("A channel's name."),
  ).optional(),
  bytes: choice("The log holds single bytes; in which order two make a word.", [
    "big-endian",
    "little-endian",
  ]).optional(),
  fromVolts: flag("The log holds volts; turn them back into codes by the converter's scale.").optional(),
  sampleRate: quantity("rate", { describe: "Readings per second of one channel.", above: 0 }).optional(),
  use: z
    .union([z.array(z.enum(USES)).min(1), z.enum(USES)], { error: () => useExpected })
    .meta({
      description: "What the capture is for. Default: all that the record supports. An overdriven sine is [histogram].",
    })
    .optional(),
  scan: group("A scan sequence of the input multiplexer.", {
    order: list("the channels in the order in which they are converted", text("A channel's name.")),
    readingsPerVisit: whole("Readings taken at each visit of a channel. Default 1.", 1, 2 ** 20).optional(),
  }).optional(),
  stimulus: stimulus.optional(),
};

const capture = group("One capture.", {
  name: text("The capture's name, its own in this file. Default: the file's name.").optional(),
  file: text("The log, relative to the bench file; - for standard input.").optional(),
  ...captureShape,
  converter: converterOverride.optional(),
  frontEnd: frontEnd.optional(),
  conditions: conditions.optional(),
});

const metricNumber = (describe: string, metric: LimitMetric) =>
  z
    .union([z.string(), z.number()], { error: () => `a number in ${unitOfMetric(metric)}` })
    .transform((input, context) => {
      const value = parseMetricValue(input, metric);
      if (typeof value === "number") return value;
      context.addIssue({ code: "custom", message: joinMessage(value.found, value.expected) });
      return z.NEVER;
    })
    .meta({ description: `${describe}, in ${unitOfMetric(metric)}.` });

const limitTarget = {
  capture: text("Judge this capture, by its name.").optional(),
  channel: column("Judge this channel.").transform(String).optional(),
};

function checkBounds(
  metric: LimitMetric,
  value: { min?: unknown; max?: unknown },
  context: z.core.$RefinementCtx,
): void {
  // A value that is no map at all has its own message.
  if (typeof value !== "object" || value === null) return;
  const { min, max } = value;
  const unit = unitOfMetric(metric);
  const issue = (key: string, found: string, expected: string): void =>
    context.addIssue({ code: "custom", path: [key], message: joinMessage(found, expected) });
  if (min === undefined && max === undefined)
    context.addIssue({ code: "custom", path: [], message: joinMessage("no bound is given", `min or max, in ${unit}`) });
  if (isNumber(min) && isNumber(max) && min > max)
    issue("min", `${min} ${unit} lies above max, ${max} ${unit}`, "min not above max");
  if (isNumber(max) && max < 0 && isMagnitude(metric))
    issue("max", `${max} ${unit} is negative, but ${metric} is bounded by its magnitude`, "a number from 0 up");
  if (min !== undefined && (metric === "inl" || metric === "dnl"))
    issue("min", `${metric} is the larger magnitude of both ends`, `max, or ${metric}Min for the lower end`);
}

/** One field a metric. */
function perMetric<T>(make: (metric: LimitMetric) => T): Record<LimitMetric, T> {
  return Object.fromEntries(LIMIT_METRICS.map((metric) => [metric, make(metric)])) as Record<LimitMetric, T>;
}

const limitMap = group(
  "A limit by metric.",
  perMetric((metric) =>
    group(
      `Bounds on ${metric}.`,
      {
        min: metricNumber("Smallest value that passes", metric).optional(),
        max: metricNumber("Largest value that passes", metric).optional(),
        ...limitTarget,
      },
      `a map with min or max, such as { ${metric === "inl" || metric === "dnl" || METRICS[metric].worse !== "low" ? "max" : "min"}: … } }`,
    )
      .superRefine((value, context) => checkBounds(metric, value, context), ALWAYS)
      .optional(),
  ),
);

const rawNumber = (describe: string) =>
  z.union([z.string(), z.number()], { error: () => "a number in the metric's unit" }).meta({ description: describe });

const limitRow = group("One limit.", {
  metric: choice("The metric.", LIMIT_METRICS),
  min: rawNumber("Smallest value that passes.").optional(),
  max: rawNumber("Largest value that passes.").optional(),
  ...limitTarget,
})
  .superRefine((row, context) => {
    if (!LIMIT_METRICS.includes(row.metric)) return;
    const bounds: { min?: unknown; max?: unknown } = {};
    for (const key of ["min", "max"] as const) {
      const input = row[key];
      if (typeof input !== "string" && typeof input !== "number") continue;
      const value = parseMetricValue(input, row.metric);
      bounds[key] = value;
      if (typeof value !== "number")
        context.addIssue({ code: "custom", path: [key], message: joinMessage(value.found, value.expected) });
    }
    checkBounds(row.metric, bounds, context);
  }, ALWAYS)
  .transform((row) => {
    const bound = (input: string | number | undefined): number | undefined => {
      const value = input === undefined ? undefined : parseMetricValue(input, row.metric);
      return typeof value === "number" ? value : undefined;
    };
    return { ...row, min: bound(row.min), max: bound(row.max) };
  });

const limits = z
  .union([limitMap, z.array(limitRow)], { error: () => "a map of metrics, or a list of limits with metric, min, max" })
  .meta({ description: "What the converter must meet: a map by metric, or a list." });

const allow = group(
  "regress: how much worse a metric may become before it counts, in the metric's unit.",
  perMetric((metric) =>
    metricNumber("Allowed change", metric)
      .refine((value) => value >= 0, { error: () => `a number in ${unitOfMetric(metric)}, not negative` })
      .meta({ description: `Allowed change, in ${unitOfMetric(metric)}.` })
      .optional(),
  ),
);

/** The whole bench file. */
export const benchFile = group("A codestair bench file.", {
  title: text("What is on the bench.").optional(),
  converter,
  frontEnd: frontEnd.optional(),
  conditions: conditions.optional(),
  ...captureShape,
  file: text("The log of the only capture, where there is no list of captures.").optional(),
  captures: list("the captures of the session", capture).optional(),
  limits: limits.optional(),
  decision: choice("guarded: the whole interval must lie inside the limit. simple: the value alone. Default guarded.", [
    "guarded",
    "simple",
  ]).optional(),
  generator: group("What the generator can be set to.", {
    step: hertz("Smallest step of its frequency.").optional(),
  }).optional(),
  serial: group("The serial line that carries the log.", {
    baud: quantity("symbolRate", { describe: "Symbols per second.", above: 0 }),
    bytesPerLine: whole("Bytes of one reading as sent, line end included.", 1, 1e6).optional(),
    bitsPerByte: quantity("count", {
      describe: "Symbols of one byte with start and stop bits. Default 10.",
      atLeast: 1,
      atMost: 16,
    }).optional(),
  }).optional(),
  allow: allow.optional(),
});

export type BenchFile = z.output<typeof benchFile>;
export type ConverterFile = z.output<typeof converter>;
export type ConverterOverrideFile = z.output<typeof converterOverride>;
export type CaptureFile = z.output<typeof capture>;
export type StimulusFile = z.output<typeof stimulus>;
export type FrontEndFile = z.output<typeof frontEnd>;
