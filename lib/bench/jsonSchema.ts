import * as z from "zod";
import { benchFile } from "./schema.ts";

/** The bench file's definition as a JSON Schema (draft 2020-12), for completion and checking in an editor. */
export function benchJsonSchema(): object {
  const schema = z.toJSONSchema(benchFile, { io: "input", unrepresentable: "any" });
  return { title: "codestair bench file", ...schema };
}
