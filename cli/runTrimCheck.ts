import { dirname, resolve } from "node:path";
import type { CaptureSpec } from "../lib/bench/bench.ts";
import { ProblemError } from "../lib/bench/problem.ts";
import { scaleOf } from "../lib/bench/scale.ts";
import { describeRecord } from "../lib/capture/describeRecord.ts";
import { matchRecord } from "../lib/match/matchRecord.ts";
import { looksLikeResult } from "../lib/parseResult.ts";
import { checkTrim, type TrimCheck } from "../lib/trim/checkTrim.ts";
import { applyTable } from "../lib/trim/correctionTable.ts";
import { applyFixedPoint } from "../lib/trim/fixedPoint.ts";
import type { Trim } from "../lib/trim/trim.ts";
import type { Io } from "./io.ts";
import { loadBench } from "./loadBench.ts";
import { openLog } from "./openLog.ts";
import { readText } from "./readText.ts";

/**
 * Runs `trim --check LOG`: reads the log as one of the bench file's captures and compares it, corrected, with what was applied.
 * @throws ProblemError  no bench file says what was applied, the setting is another, or the log cannot be used
 */
export async function runTrimCheck(
  trim: Trim,
  input: string,
  log: string,
  options: { readonly bench?: string; readonly checkCapture?: string },
  io: Io,
): Promise<TrimCheck> {
  const benchPath = options.bench ?? input;
  if (options.bench === undefined && looksLikeResult(readText(input, "a bench file or result")))
    throw problem(
      input,
      "is a result, which does not say how to read another log",
      "the bench file that describes the check",
      "Name it with --bench FILE.",
    );
  const bench = loadBench(benchPath);
  const spec = specFor(bench.captures, trim, benchPath, log, options.checkCapture ?? null);
  const scale = scaleOf(spec.converter);
  if (
    scale.topCode !== trim.scale.topCode ||
    Math.abs(scale.lsb - trim.scale.lsb) > 1e-9 * scale.lsb ||
    scale.low !== trim.scale.low
  )
    throw problem(
      benchPath,
      `capture ${spec.name} has codes to ${scale.topCode} of ${scale.lsb} V, the trim codes to ${trim.scale.topCode} of ${trim.scale.lsb} V`,
      "a check in the same setting as the capture that the trim was made from",
    );
  const { log: readings, sha256 } = await openLog(log, spec.reading, io);
  if (sha256 === trim.source.capture.sha256)
    io.err(
      `${log}: this is the capture that the constants were made from; the check shows the arithmetic, not the constants.\n`,
    );
  const record = matchRecord(describeRecord(spec, readings));
  const { check, reason } = checkTrim(record, trim, (code) =>
    trim.table === null ? applyFixedPoint(trim.fixed, code) : applyTable(trim.table, code),
  );
  if (check === null)
    throw problem(
      log,
      `cannot check the trim as capture ${spec.name}: ${reason}`,
      "a capture with known voltages",
      "Choose the bench file's capture that describes it with --check-capture NAME.",
    );
  return check;
}

function specFor(
  captures: readonly CaptureSpec[],
  trim: Trim,
  benchPath: string,
  log: string,
  name: string | null,
): CaptureSpec {
  if (name !== null) {
    const named = captures.find((c) => c.name === name);
    if (named !== undefined) return named;
    throw problem(
      benchPath,
      `no capture is named ${JSON.stringify(name)}`,
      `one of: ${captures.map((c) => c.name).join(", ")}`,
    );
  }
  const byFile = captures.find((c) => c.file !== null && resolve(dirname(benchPath), c.file) === resolve(log));
  const bySource = captures.find((c) => c.name === trim.source.capture.name);
  const found = byFile ?? bySource ?? (captures.length === 1 ? captures[0] : undefined);
  if (found !== undefined) return found;
  throw problem(
    benchPath,
    `does not say which of its captures describes ${log}`,
    `one of: ${captures.map((c) => c.name).join(", ")}`,
    "Choose with --check-capture NAME.",
  );
}

function problem(file: string, found: string, expected: string, next?: string): ProblemError {
  return new ProblemError([
    { code: "cannot-check", file, line: null, key: null, found, expected, ...(next === undefined ? {} : { next }) },
  ]);
}
