import { looksLikeResult, parseResult } from "../lib/parseResult.ts";
import type { Result } from "../lib/result.ts";
import { toResult } from "../lib/toResult.ts";
import type { Io } from "./io.ts";
import { readText } from "./readText.ts";
import { scoreBench } from "./scoreBench.ts";
import { VERSION } from "./version.ts";

/**
 * A result from whatever a person has: a bench file (which is scored now), the JSON that score wrote, or a report page.
 * @throws ProblemError  it is none of these, or the bench file's captures cannot be read
 */
export async function loadResult(path: string, io: Io, options: { quiet?: boolean } = {}): Promise<Result> {
  const text = readText(path, "a bench file, a result or a report page");
  if (looksLikeResult(text)) return parseResult(text, path);
  const session = await scoreBench(path, [], io, options);
  return toResult(session, { version: VERSION, written: new Date().toISOString() });
}
