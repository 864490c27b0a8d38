import type * as z from "zod";
import { type BenchFile, benchFile, type CaptureFile } from "./schema.ts";

/**
 * What is still readable of a bench file that has mistakes, so that the checks that compare its parts can run as well and all problems come
 * at once. The result is never used for anything but those checks.
 */
export function salvageBench(plain: Readonly<Record<string, unknown>>): BenchFile {
  const kept = readableKeys(benchFile.shape, plain) as Partial<BenchFile>;
  const { captures: captureList } = benchFile.shape;
  const captureShape = captureList.unwrap().unwrap().element.shape;
  const listed = Array.isArray(plain.captures) ? plain.captures : null;
  const captures = listed?.map((entry): CaptureFile => {
    const capture = isMap(entry) ? (readableKeys(captureShape, entry) as CaptureFile) : {};
    // Without the bench-wide converter an override cannot be laid over anything.
    if (kept.converter === undefined) delete capture.converter;
    return capture;
  });
  return {
    ...kept,
    converter: kept.converter ?? { bits: 12, range: { low: 0, high: 1 } },
    ...(captures && captures.length > 0 ? { captures } : {}),
  };
}

function readableKeys(shape: Readonly<Record<string, z.ZodType>>, map: Readonly<Record<string, unknown>>): object {
  const kept: Record<string, unknown> = {};
  for (const [key, schema] of Object.entries(shape)) {
    if (!Object.hasOwn(map, key)) continue;
    const parsed = schema.safeParse(map[key], { jitless: true });
    if (parsed.success) kept[key] = parsed.data;
  }
  return kept;
}

function isMap(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
