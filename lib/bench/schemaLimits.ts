import * as z from "zod";
import type { LimitMetric } from "./bench.ts";
import { choice, column, group, joinMessage, optional, text } from "./field.ts";
import { isMagnitude, LIMIT_METRICS, parseMetricValue, unitOfMetric } from "./metricValue.ts";
import { isNumber, ON_ANY_MAP } from "./schemaQuantities.ts";

const metricNumber = (describe: string, metric: LimitMetric) =>
  z
    .union([z.string(), z.number()], { error: () => `a number in ${unitOfMetric(metric)}` })
    .transform((input, context) => {
      const value = parseMetricValue(input, metric);
      if (typeof value === "number") return value;
      context.addIssue({ code: "custom", message: joinMessage(value.found, value.expected) });
      return z.NEVER;
    })
    .register(z.globalRegistry, { description: `${describe}, in ${unitOfMetric(metric)}.` });

const limitTarget = {
  capture: optional(() => text("Judge this capture, by its name.")),
  channel: optional(() => column("Judge this channel.").transform(String)),
};

function checkBounds(
  metric: LimitMetric,
  value: { min?: unknown; max?: unknown },
  context: z.core.$RefinementCtx,
): void {
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

const limitMap = () =>
  group(
    "A limit by metric.",
    perMetric((metric) =>
      optional(() =>
        group(
          `Bounds on ${metric}.`,
          {
            min: optional(() => metricNumber("Smallest value that passes", metric)),
            max: optional(() => metricNumber("Largest value that passes", metric)),
            ...limitTarget,
          },
          "a map with min or max, such as { max: 2 }",
        ).superRefine((value, context) => checkBounds(metric, value, context), ON_ANY_MAP),
      ),
    ),
  );

const rawNumber = (describe: string) =>
  z
    .union([z.string(), z.number()], { error: () => "a number in the metric's unit" })
    .register(z.globalRegistry, { description: describe });

const limitRow = () =>
  group("One limit.", {
    metric: choice("The metric.", LIMIT_METRICS),
    min: optional(() => rawNumber("Smallest value that passes.")),
    max: optional(() => rawNumber("Largest value that passes.")),
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
    }, ON_ANY_MAP)
    .transform((row) => {
      const bound = (input: string | number | undefined): number | undefined => {
        const value = input === undefined ? undefined : parseMetricValue(input, row.metric);
        return typeof value === "number" ? value : undefined;
      };
      return { ...row, min: bound(row.min), max: bound(row.max) };
    });

/** What the converter must meet. */
export const limits = () =>
  z
    .union([limitMap(), z.array(limitRow())], {
      error: () => "a map of metrics, or a list of limits with metric, min, max",
    })
    .register(z.globalRegistry, { description: "What the converter must meet: a map by metric, or a list." });

/** How much worse a metric may become. */
export const allow = () =>
  group(
    "regress: how much worse a metric may become before it counts, in the metric's unit.",
    perMetric((metric) =>
      optional(() =>
        metricNumber("Allowed change", metric)
          .refine((value) => value >= 0, { error: () => `a number in ${unitOfMetric(metric)}, not negative` })
          .register(z.globalRegistry, { description: `Allowed change, in ${unitOfMetric(metric)}.` }),
      ),
    ),
  );
