import * as z from "zod";
import { DIMENSIONS, type Dimension } from "./dimensions.ts";
import { example, parseQuantity, quote } from "./quantity.ts";

/*
 * The building blocks of the bench file's definition. Every message that they leave in zod is either what is expected ("a frequency such as 997 Hz"),
 * or, where the block knows better than the reader what was wrong, "found; expected …" (see splitMessage).
 */

const SEPARATOR = "; expected ";

// Definitions are many, each takes a tenth of a millisecond to make, and a bench file is read once: those without a rule of their own are shared, and `register` describes a definition
// where `meta` would copy it.
const TEXT = z.string();
const NUMBER = z.number();

/** The two halves of a definition's message; `found` is null where the reader of the file describes the value itself. */
export function splitMessage(message: string): { readonly found: string | null; readonly expected: string } {
  const at = message.indexOf(SEPARATOR);
  if (at < 0) return { found: null, expected: message };
  return { found: message.slice(0, at), expected: message.slice(at + SEPARATOR.length) };
}

/** The message that splitMessage takes apart. */
export function joinMessage(found: string, expected: string): string {
  return `${found}${SEPARATOR}${expected}`;
}

export interface QuantityRule {
  readonly describe: string;
  /** Replaces the dimension's own wording of what is expected. */
  readonly expected?: string;
  readonly above?: number;
  readonly atLeast?: number;
  readonly atMost?: number;
  readonly whole?: boolean;
  readonly nonZero?: boolean;
  /** A bare number above this was most likely meant in % or ppm, so it is refused rather than read as a ratio to one. */
  readonly bareAtMost?: number;
}

/** A number with a unit, or a bare number in the base unit; SI afterwards. */
export function quantity(dimension: Dimension, rule: QuantityRule) {
  return z
    .union([TEXT, NUMBER], { error: () => expectation(dimension, rule) })
    .transform((input, context) => {
      const outcome = readQuantity(input, dimension, rule);
      if (typeof outcome === "number") return outcome;
      context.addIssue({ code: "custom", message: outcome.message });
      return z.NEVER;
    })
    .register(z.globalRegistry, { description: rule.describe, ...hintsForEditors(dimension, rule) });
}

/** JSON Schema's minimum and maximum bind numbers only, so they may stand beside the form with a unit. */
function hintsForEditors(dimension: Dimension, rule: QuantityRule): Record<string, unknown> {
  const hints: Record<string, unknown> = {};
  if (DIMENSIONS[dimension].base !== "") hints.examples = [DIMENSIONS[dimension].example];
  if (rule.atLeast !== undefined) hints.minimum = rule.atLeast;
  if (rule.above !== undefined) hints.exclusiveMinimum = rule.above;
  if (rule.atMost !== undefined) hints.maximum = rule.atMost;
  return hints;
}

/** A quantity that may be given in either of two dimensions (an accuracy in % or in volts); a bare number is of the first. */
export function eitherQuantity<A extends Dimension, B extends Dimension>(
  first: A,
  second: B,
  rule: QuantityRule & { readonly expected: string },
) {
  return z
    .union([TEXT, NUMBER], { error: () => rule.expected })
    .transform((input, context): { dimension: A | B; value: number } => {
      const asFirst = readQuantity(input, first, rule);
      if (typeof asFirst === "number") return { dimension: first, value: asFirst };
      const asSecond = typeof input === "string" ? readQuantity(input, second, rule) : asFirst;
      if (typeof asSecond === "number" && !asFirst.outOfRange) return { dimension: second, value: asSecond };
      context.addIssue({ code: "custom", message: asFirst.message });
      return z.NEVER;
    })
    .register(z.globalRegistry, { description: rule.describe });
}

function readQuantity(
  input: string | number,
  dimension: Dimension,
  rule: QuantityRule,
): number | { message: string; outOfRange: boolean } {
  const reading = parseQuantity(input, dimension);
  const expected = expectation(dimension, rule);
  if (!reading.ok) {
    const wanted =
      reading.code === "not-a-quantity"
        ? expected
        : reading.code === "wrong-unit"
          ? (rule.expected ?? reading.expected)
          : reading.expected;
    return { message: joinMessage(reading.found, wanted), outOfRange: false };
  }
  const { value, bare } = reading;
  const shown = typeof input === "number" ? String(input) : quote(input);
  const fail = (found: string, wanted = expected) => ({ message: joinMessage(found, wanted), outOfRange: true });
  if (rule.bareAtMost !== undefined && bare && value > rule.bareAtMost)
    return fail(`${shown} without a unit would be ${Number((value * 100).toPrecision(12))} %`);
  if (rule.whole && !Number.isInteger(value)) return fail(`${shown} is not a whole number`);
  if (rule.nonZero && value === 0) return fail(`${shown} is zero`);
  if (
    (rule.above !== undefined && value <= rule.above) ||
    (rule.atLeast !== undefined && value < rule.atLeast) ||
    (rule.atMost !== undefined && value > rule.atMost)
  )
    return fail(`${shown} is out of range`);
  return value;
}

function expectation(dimension: Dimension, rule: QuantityRule): string {
  if (rule.expected) return rule.expected;
  const { base, name } = DIMENSIONS[dimension];
  const unit = base === "" ? "" : ` ${base}`;
  const what = rule.whole ? "a whole number" : name;
  if (rule.atLeast !== undefined && rule.atMost !== undefined)
    return `${what} from ${rule.atLeast} to ${rule.atMost}${unit}`;
  if (rule.above !== undefined) return `${what} above ${rule.above}${unit}, such as ${DIMENSIONS[dimension].example}`;
  if (rule.atLeast !== undefined) return `${what}, at least ${rule.atLeast}${unit}`;
  return example(DIMENSIONS[dimension]);
}

/**
 * A key that may be left out. Its definition is made when a file first has the key: a file has few of all keys, and most definitions would take longer to make than
 * the file takes to read.
 */
export function optional<T extends z.ZodType>(make: () => T): z.ZodOptional<z.ZodLazy<T>> {
  const later = z.lazy(make);
  // Reading a map asks of each key it lacks whether the definition has a default, which would make the definition.
  Object.defineProperty(later._zod, "optin", { value: undefined });
  return later.optional();
}

/** A whole number. */
export function whole(describe: string, atLeast: number, atMost: number) {
  return quantity("count", { describe, whole: true, atLeast, atMost });
}

/** A map with these keys and no others. Its unknown-key message is the list of the keys it knows, one a line. */
export function group<S extends z.core.$ZodLooseShape>(describe: string, shape: S, expected?: string) {
  return z
    .strictObject(shape, {
      error: (issue) =>
        issue.code === "unrecognized_keys"
          ? Object.keys(shape).join("\n")
          : (expected ?? `a map with keys such as ${Object.keys(shape).slice(0, 3).join(", ")}`),
    })
    .register(z.globalRegistry, { description: describe });
}

/** One of a few words. */
export function choice<const T extends readonly string[]>(describe: string, words: T) {
  return z
    .enum(words, { error: () => `one of ${words.join(", ")}` })
    .register(z.globalRegistry, { description: describe });
}

/** One of a few numbers, as a number or as its digits. */
export function numberChoice<const T extends readonly number[]>(describe: string, numbers: T) {
  const expected = numbers.length === 2 ? numbers.join(" or ") : `one of ${numbers.join(", ")}`;
  return quantity("count", { describe, expected })
    .refine((value) => numbers.includes(value), { error: () => expected })
    .transform((value) => value as T[number])
    .register(z.globalRegistry, { description: describe, enum: numbers });
}

/** Free text of one line. Names and titles that look like numbers arrive as they were written (plainYaml.ts). */
export function text(describe: string) {
  return z
    .union([TEXT, NUMBER], { error: () => "text" })
    .transform(String)
    .refine((value) => value.trim() !== "" && !/[\u0000-\u0008\u000a-\u001f\u007f]/.test(value), {
      error: () => "text of one line, not empty",
    })
    .register(z.globalRegistry, { description: describe });
}

/** true or false. */
export function flag(describe: string) {
  return z.boolean({ error: () => "true or false" }).register(z.globalRegistry, { description: describe });
}

/** A column by its header or tag, or by its number counted from 1. */
export function column(describe: string) {
  const expected = "a column's header, or its number counted from 1";
  return z
    .union([TEXT, NUMBER], { error: () => expected })
    .refine((value) => (typeof value === "number" ? Number.isInteger(value) && value >= 1 : value.trim() !== ""), {
      error: () => expected,
    })
    .register(z.globalRegistry, { description: describe });
}

/** A list of at least one. */
export function list<T extends z.ZodType>(describe: string, item: T) {
  return z
    .array(item, { error: () => `a list: ${describe}` })
    .min(1, { error: () => "a list of at least one" })
    .register(z.globalRegistry, { description: describe });
}
