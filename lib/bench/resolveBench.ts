import type { Bench, CaptureSpec, Limit, LimitMetric } from "./bench.ts";
import { mergeConverter, resolveConverter } from "./resolveConverter.ts";
import { resolveStimulus } from "./resolveStimulus.ts";
import type { BenchFile, CaptureFile } from "./schema.ts";
import type { FrontEndFile } from "./schemaConverter.ts";

/** A mistake that shows only when parts of the file are put together. */
export interface Clash {
  readonly code: string;
  readonly path: readonly PropertyKey[];
  readonly found: string;
  readonly expected: string;
}

const DELIMITERS: Readonly<Record<string, string>> = { comma: ",", semicolon: ";", tab: "\t", space: " ", pipe: "|" };

/**
 * Fills in defaults, lays each capture's overrides over the bench-wide values, and checks what only the whole can show.
 * @param limitOrder  the metrics of a map of limits as the file lists them; the order in which the verdict will
 * @returns a bench even where there are clashes; it is then not to be used
 */
export function resolveBench(
  file: BenchFile,
  name: string,
  limitOrder: readonly string[] = [],
): { readonly bench: Bench; readonly problems: Clash[] } {
  const problems: Clash[] = [];
  const converter = resolveConverter(file.converter, ["converter"], problems);
  const frontEnd = resolveFrontEnd(file.frontEnd);
  const conditions = { ...file.conditions };
  const listed: readonly CaptureFile[] = file.captures ?? [{ name: "capture", file: file.file }];
  if (file.captures && file.file !== undefined)
    problems.push({
      code: "clash",
      path: ["file"],
      found: "both file and captures are given",
      expected: "file inside each capture",
    });

  const captures = listed.map((own, index): CaptureSpec => {
    const path = file.captures ? ["captures", index] : [];
    // Keys beside `captures` are the default of every capture.
    const capture = { ...file, ...defined(own) } as CaptureFile;
    const stimulus = resolveStimulus(capture.stimulus);
    return {
      name: own.name ?? (own.file === undefined ? null : stem(own.file)) ?? `capture ${index + 1}`,
      file: own.file ?? null,
      converter: own.converter
        ? resolveConverter(mergeConverter(file.converter, own.converter), [...path, "converter"], problems)
        : converter,
      frontEnd: own.frontEnd ? resolveFrontEnd({ ...file.frontEnd, ...defined(own.frontEnd) }) : frontEnd,
      stimulus,
      sampleRate: capture.sampleRate ?? null,
      use:
        capture.use === undefined ? null : typeof capture.use === "string" ? [capture.use] : [...new Set(capture.use)],
      conditions: { ...conditions, ...own.conditions },
      reading: readingHints(capture),
      readings: capture.readings ?? null,
      scan: capture.scan ? { order: capture.scan.order, readingsPerVisit: capture.scan.readingsPerVisit ?? 1 } : null,
    };
  });

  const seen = new Map<string, number>();
  captures.forEach((capture, index) => {
    const first = seen.get(capture.name);
    if (first === undefined) seen.set(capture.name, index);
    else
      problems.push({
        code: "duplicate-name",
        path: ["captures", index, "name"],
        found: `the name "${capture.name}" is already that of capture ${first + 1}`,
        expected: "a name of its own",
      });
    if (capture.reading.timeUnit === "ticks" && capture.reading.tickRate === undefined)
      problems.push({
        code: "missing-key",
        path: file.captures ? ["captures", index, "timeUnit"] : ["timeUnit"],
        found: "ticks are given without their rate",
        expected: "tickRate: a frequency such as 1 MHz",
      });
  });

  const limits = resolveLimits(file.limits, limitOrder);
  limits.forEach(({ capture }, index) => {
    if (capture === null || seen.has(capture)) return;
    const metric = limits[index]!.metric;
    problems.push({
      code: "unknown-name",
      path: Array.isArray(file.limits) ? ["limits", index, "capture"] : ["limits", metric, "capture"],
      found: `no capture is named "${capture}"`,
      expected: `one of ${[...seen.keys()].join(", ")}`,
    });
  });

  const bench: Bench = {
    title: file.title ?? stem(name),
    file: name,
    conditions,
    captures,
    limits,
    decision: file.decision ?? "guarded",
    converter,
    frontEnd,
    generator: { step: file.generator?.step ?? null },
    serial: file.serial
      ? {
          baud: file.serial.baud,
          bytesPerLine: file.serial.bytesPerLine ?? null,
          bitsPerByte: file.serial.bitsPerByte ?? 10,
        }
      : null,
    allow: defined(file.allow ?? {}),
  };
  return { bench, problems };
}

function resolveFrontEnd(file: FrontEndFile | undefined): CaptureSpec["frontEnd"] {
  if (!file) return null;
  return { gain: file.gain ?? 1, offset: file.offset ?? 0, accuracy: file.accuracy ?? 0 };
}

function readingHints(capture: CaptureFile): CaptureSpec["reading"] {
  const { stimulus } = capture;
  return defined({
    channel: capture.channel,
    time: capture.time,
    timeUnit: capture.timeUnit,
    tickRate: capture.tickRate,
    base: capture.base,
    delimiter: capture.delimiter === undefined ? undefined : (DELIMITERS[capture.delimiter] ?? capture.delimiter),
    decimal: capture.decimal,
    header: capture.header,
    encoding: capture.encoding,
    sequence: capture.sequence,
    interleave: capture.interleave,
    bytes: capture.bytes,
    fromVolts: capture.fromVolts,
    stimulusColumn: stimulus?.kind === "steps" ? stimulus.column : undefined,
  });
}

function resolveLimits(limits: BenchFile["limits"], order: readonly string[]): Limit[] {
  if (limits === undefined) return [];
  const rows = Array.isArray(limits)
    ? limits
    : Object.entries(limits)
        .sort(([a], [b]) => order.indexOf(a) - order.indexOf(b))
        .flatMap(([metric, bounds]) => (bounds === undefined ? [] : [{ metric: metric as LimitMetric, ...bounds }]));
  return rows.map((row) => ({
    metric: row.metric,
    min: row.min ?? null,
    max: row.max ?? null,
    capture: row.capture ?? null,
    channel: row.channel ?? null,
  }));
}

/** Without the keys that were not given, so that they do not cover a default in a spread. */
function defined<T extends object>(value: T): T {
  return Object.fromEntries(Object.entries(value).filter(([, v]) => v !== undefined)) as T;
}

/** "logs/tone-a.csv.gz" → "tone-a" */
function stem(path: string): string {
  const name = path.split(/[\\/]/).at(-1) ?? path;
  return name.replace(/(?<=.)\.[^.]*$/, "").replace(/(?<=.)\.(csv|txt|log|json|tsv)$/i, "") || path;
}
