import { readFileSync } from "node:fs";
import { expect, it } from "vitest";
import { METRIC_NAMES, METRICS } from "../lib/bench/metrics.ts";

const readme = readFileSync("README.md", "utf8");

it("README lists every metric with its unit and formula", () => {
  for (const name of METRIC_NAMES) {
    const row = readme.split("\n").find((line) => line.startsWith(`| \`${name}\` |`));
    expect(row, name).toContain(`| ${METRICS[name].unit} |`);
    expect(row, name).toContain(METRICS[name].formula.replaceAll("|", "\\|"));
  }
});

it("README has the two set-up commands", () => {
  expect(readme).toContain("npm ci && npm run demo");
  expect(readme).toContain("npm cit");
});
