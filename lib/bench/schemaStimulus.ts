import * as z from "zod";
import { choice, column, eitherQuantity, group, joinMessage, list, optional, quantity, whole } from "./field.ts";
import { hertz, isNumber, lowBelowHigh, ON_ANY_MAP, ratioLimit, voltLimit, volts } from "./schemaQuantities.ts";

const sineAccuracy = () =>
  group("The source's ± limits.", {
    frequency: optional(() =>
      eitherQuantity("ratio", "frequency", {
        describe: "± limit of the frequency, relative or in Hz.",
        atLeast: 0,
        bareAtMost: 0.05,
        expected: "a ratio such as 20 ppm, or a frequency such as 0.1 Hz",
      }),
    ),
    amplitude: optional(() =>
      eitherQuantity("ratio", "voltage", {
        describe: "± limit of the amplitude, relative or in volts of the amplitude (peak).",
        atLeast: 0,
        bareAtMost: 0.05,
        expected: "a ratio such as 0.5 %, or a voltage such as 5 mV",
      }),
    ),
    offset: optional(() => voltLimit("± limit of the offset.")),
  });

const levelAccuracy = () =>
  group("The source's ± limits.", {
    gain: optional(() => ratioLimit("± limit relative to the voltage set.")),
    offset: optional(() => voltLimit("± limit at 0 V.")),
    linearity: optional(() =>
      ratioLimit("± departure from the source's own straight line, relative to the span applied."),
    ),
    repeatability: optional(() => voltLimit("± fresh error each time a level is set.")),
  });

const sine = group("A sine.", {
  kind: z.literal("sine"),
  frequency: optional(() => hertz("Frequency at the source.")),
  amplitude: optional(() => quantity("voltage", { describe: "Peak amplitude.", above: 0 })),
  peakToPeak: optional(() =>
    quantity("voltage", { describe: "Peak-to-peak amplitude, instead of amplitude.", above: 0 }),
  ),
  rms: optional(() =>
    quantity("voltage", {
      describe: "Root-mean-square amplitude without the offset, instead of amplitude.",
      above: 0,
    }),
  ),
  offset: optional(() => volts("Mean voltage.")),
  accuracy: optional(sineAccuracy),
  purity: optional(() =>
    group("The source's own distortion and noise.", {
      thd: optional(() =>
        eitherQuantity("level", "ratio", {
          describe: "Total harmonic distortion of the source: negative decibels, or %.",
          expected: "negative decibels such as -70 dB, or a ratio such as 0.03 %",
        })
          .refine((value) => (value.dimension === "level" ? value.value < 0 : value.value > 0 && value.value < 1), {
            error: () => "negative decibels such as -70 dB, or a ratio such as 0.03 %",
          })
          .register(z.globalRegistry, {
            description: "Total harmonic distortion of the source: negative decibels, or %.",
          }),
      ),
      snr: optional(() =>
        quantity("level", {
          describe: "Signal-to-noise ratio of the source in the converter's band.",
          above: 0,
          expected: "positive decibels such as 75 dB",
        }),
      ),
    }),
  ),
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
}, ON_ANY_MAP);

const ramp = group("A straight line in time, from the first reading to the last.", {
  kind: z.literal("ramp"),
  from: volts("Voltage at the first reading."),
  to: volts("Voltage at the last reading."),
  duration: optional(() => quantity("time", { describe: "Time of one pass.", above: 0 })),
  accuracy: optional(levelAccuracy),
}).superRefine((value, context) => {
  if (isNumber(value.from) && value.from === value.to)
    context.addIssue({
      code: "custom",
      path: ["to"],
      message: joinMessage(`${value.to} V equals from`, "another voltage than from"),
    });
}, ON_ANY_MAP);

const triangle = group("A symmetrical triangle.", {
  kind: z.literal("triangle"),
  low: volts("Lower corner."),
  high: volts("Upper corner."),
  frequency: optional(() => hertz("Whole triangles per second.")),
  accuracy: optional(levelAccuracy),
}).superRefine(lowBelowHigh, ON_ANY_MAP);

const steady = group("One steady voltage.", {
  kind: z.literal("steady"),
  voltage: optional(() => volts("The voltage applied.")),
  accuracy: optional(levelAccuracy),
});

const steps = group("Known voltages one after the other.", {
  kind: z.literal("steps"),
  column: optional(() => column("The log's column that holds the applied voltage.")),
  levels: optional(() =>
    list(
      "the levels in their order",
      group("One level.", {
        voltage: volts("The voltage applied."),
        readings: whole("Readings logged at this level.", 1, 2 ** 31),
      }),
    ),
  ),
  direction: optional(() =>
    choice("Which way the levels go. Default: as the listed levels go.", ["up", "down", "both"]),
  ),
  accuracy: optional(levelAccuracy),
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
}, ON_ANY_MAP);

/** What the source applies, by kind. */
export const stimulus = z
  .discriminatedUnion("kind", [sine, ramp, triangle, steady, steps], {
    error: (issue) =>
      issue.code === "invalid_union"
        ? "one of sine, ramp, triangle, steady, steps"
        : "a map with kind: one of sine, ramp, triangle, steady, steps",
  })
  .register(z.globalRegistry, { description: "What the source applies, at the source (before frontEnd)." });

export type StimulusFile = z.output<typeof stimulus>;
