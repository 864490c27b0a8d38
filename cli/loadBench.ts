import type { Bench } from "../lib/bench/bench.ts";
import { ProblemError } from "../lib/bench/problem.ts";
import { readBench } from "../lib/bench/readBench.ts";
import { readText } from "./readText.ts";

/** Reads and checks a bench file. @throws ProblemError  with every problem of the file at once */
export function loadBench(path: string): Bench {
  const { bench, problems } = readBench(readText(path, "a bench file"), path);
  if (bench === null) throw new ProblemError(problems);
  return bench;
}
