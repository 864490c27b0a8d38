import * as z from "zod";
import type { Problem } from "./bench/problem.ts";
import { ProblemError } from "./bench/problem.ts";
import type { Result } from "./result.ts";

const bound = z.number().nullable();

const figure = z.looseObject({
  value: bound,
  low: bound,
  high: bound,
  uncertainty: bound,
  unit: z.string(),
  method: z.string().default(""),
  reason: z.string().optional(),
});

const converter = z.looseObject({
  bits: z.number().int().min(1).max(32),
  low: z.number(),
  high: z.number(),
  line: z.enum(["endpoint", "best-fit"]),
  scale: z.looseObject({
    bits: z.number().positive(),
    lsb: z.number().positive(),
    firstTransition: z.number(),
    topCode: z.number().int().positive(),
  }),
  readingTime: bound.default(null),
});

const textMap = z.record(z.string(), z.string());

/** What a reader of results relies on; other keys pass through untouched. */
const result = z.looseObject({
  schema: z.literal("codestair-result/1"),
  tool: z.looseObject({ name: z.string(), version: z.string() }),
  written: z.string().nullable().default(null),
  bench: z.looseObject({
    title: z.string(),
    conditions: textMap.default({}),
    converter,
    decision: z.enum(["guarded", "simple"]).default("guarded"),
    allow: z.record(z.string(), z.number()).default({}),
  }),
  captures: z.array(
    z.looseObject({
      name: z.string(),
      file: z.string().nullable(),
      readings: z.number().int().nonnegative(),
      channel: z.string().default(""),
      conditions: textMap.default({}),
      converter,
      stimulus: z.looseObject({ kind: z.string() }).nullable().default(null),
      metrics: z.record(z.string(), figure),
      findings: z.array(z.looseObject({ id: z.string(), severity: z.string(), text: z.string() })).default([]),
      sampleRate: z.looseObject({ value: z.number() }).nullable().default(null),
      harmonics: z.array(z.looseObject({ order: z.number(), level: bound })).default([]),
      transitions: z
        .looseObject({
          codes: z.array(z.number()),
          volts: z.array(bound),
          standard: z.array(bound),
          inl: z.array(bound),
          dnl: z.array(bound),
        })
        .nullable()
        .default(null),
      steps: z
        .array(z.looseObject({ applied: z.number(), meanCode: z.number(), standard: z.number(), inl: bound }))
        .nullable()
        .default(null),
    }),
  ),
  unreadable: z.array(z.looseObject({ name: z.string(), problems: z.array(z.string()).default([]) })).default([]),
  verdict: z.looseObject({
    decision: z.enum(["pass", "fail", "undecided", "none"]),
    limits: z.array(z.looseObject({ metric: z.string(), bound: z.enum(["min", "max"]), limit: z.number() })),
  }),
});

/** The element of a report page that holds the result; reports/page.ts writes it. */
const EMBEDDED = /<script type="application\/json" id="codestair-result">([\s\S]*?)<\/script>/;

/** Says whether a text looks like a result or a page that carries one, without parsing it. */
export function looksLikeResult(text: string): boolean {
  return EMBEDDED.test(text) || (/^\s*\{/.test(text) && text.includes('"codestair-result/'));
}

/**
 * Reads a result that score wrote: the JSON, or a report page with the JSON inside.
 * @throws ProblemError  not a result, a later schema, or damaged; every place that is wrong is named
 */
export function parseResult(text: string, file: string): Result {
  const fail = (found: string, expected: string): never => {
    throw new ProblemError([{ code: "unreadable-result", file, line: null, key: null, found, expected }]);
  };
  const json = EMBEDDED.exec(text)?.[1] ?? text;
  let data: unknown;
  try {
    data = JSON.parse(json);
  } catch {
    return fail(
      "not JSON, and no report page with a result inside",
      "what `codestair score --json FILE` or its page wrote",
    );
  }
  const schema = (data as { schema?: unknown } | null)?.schema;
  if (typeof schema === "string" && schema.startsWith("codestair-result/") && schema !== "codestair-result/1")
    return fail(`schema ${JSON.stringify(schema)}`, '"codestair-result/1"; a later codestair wrote this file');
  const parsed = result.safeParse(data);
  if (parsed.success) return parsed.data as unknown as Result;
  throw new ProblemError(
    parsed.error.issues.map(
      (issue): Problem => ({
        code: "unreadable-result",
        file,
        line: null,
        key: issue.path.join("."),
        found: issue.message,
        expected: "what `codestair score --json FILE` wrote",
      }),
    ),
  );
}
