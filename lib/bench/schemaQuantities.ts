import type * as z from "zod";
import { joinMessage, quantity } from "./field.ts";

/** When a rule that compares several keys of a map runs: even where another key is wrong, so that all mistakes come at once. */
export const ON_ANY_MAP = {
  when: ({ value }: { value: unknown }) => typeof value === "object" && value !== null && !Array.isArray(value),
} as const;

/** A key of a map that may be only partly readable. */
export function isNumber(value: unknown): value is number {
  return typeof value === "number" && Number.isFinite(value);
}

/** A ± limit of a ratio; bare numbers above 5 % are refused, since 0.5 without a unit is nearly always meant as 0.5 %. */
export const ratioLimit = (describe: string) =>
  quantity("ratio", {
    describe,
    atLeast: 0,
    atMost: 1,
    bareAtMost: 0.05,
    expected: "a ratio from 0 to 1 with its unit, such as 0.5 % or 20 ppm",
  });

/** A ± limit in volts. */
export const voltLimit = (describe: string) =>
  quantity("voltage", { describe, atLeast: 0, expected: "a voltage, not negative, such as 5 mV" });

/** Any voltage. */
export const volts = (describe: string) => quantity("voltage", { describe });

/** A frequency above zero. */
export const hertz = (describe: string) => quantity("frequency", { describe, above: 0 });

/** For maps with low and high: high lies above low. */
export function lowBelowHigh(value: { low?: unknown; high?: unknown }, context: z.core.$RefinementCtx): void {
  const { low, high } = value;
  if (isNumber(low) && isNumber(high) && high <= low)
    context.addIssue({
      code: "custom",
      path: ["high"],
      message: joinMessage(`${high} V does not lie above low, ${low} V`, "a higher voltage than low"),
    });
}
