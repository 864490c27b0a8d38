/**
 * How often the stated intervals hold the truth: `npm run calibrate`.
 *
 *   npm run calibrate                      every condition, 400 captures each; writes the README's table
 *   npm run calibrate -- --trials 100      quicker, looser
 *   npm run calibrate -- --only steady     conditions whose name contains the text; the README stays as it is
 */
import { fork } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { availableParallelism } from "node:os";
import { METRIC_NAMES } from "../../lib/bench/metrics.ts";
import { type Condition, describe } from "./conditions.ts";
import { type Coverage, coverage } from "./coverage.ts";

const argument = (name: string): string | undefined =>
  process.argv.includes(name) ? process.argv[process.argv.indexOf(name) + 1] : undefined;
const trials = Number(argument("--trials") ?? 400);
const only = argument("--only");

const CONDITIONS: Condition[] = [
  ...[60, 1000].flatMap((readings) =>
    [8, 12].flatMap((bits) =>
      [true, false].map(
        (coherent): Condition => ({ stimulus: "tone", bits, noise: bits === 8 ? 0.3 : 0.5, readings, coherent }),
      ),
    ),
  ),
  { stimulus: "tone", bits: 14, noise: 1.5, readings: 16_384, coherent: true },
  { stimulus: "tone", bits: 14, noise: 1.5, readings: 16_384, coherent: false },
  { stimulus: "tone", bits: 12, noise: 0.05, readings: 4096, coherent: true },
  { stimulus: "tone", bits: 12, noise: 0.05, readings: 4096, coherent: false },
  { stimulus: "tone", bits: 10, noise: 3, readings: 2000, coherent: false },
  { stimulus: "tone", bits: 8, noise: 0.05, readings: 256, coherent: true, converter: "ideal" },
  { stimulus: "tone", bits: 8, noise: 1, readings: 1000, coherent: false, converter: "smooth INL" },
  { stimulus: "tone", bits: 12, noise: 0.05, readings: 60, coherent: false, converter: "random DNL" },
  { stimulus: "tone", bits: 12, noise: 0.3, readings: 256, coherent: false, converter: "random DNL" },
  { stimulus: "tone", bits: 12, noise: 1, readings: 1000, coherent: false, correlation: 0.7 },
  ...[true, false].flatMap((coherent): Condition[] => [
    { stimulus: "sine histogram", bits: 8, noise: 0.3, readings: 4096, coherent },
    { stimulus: "sine histogram", bits: 8, noise: 0.05, readings: 16_384, coherent },
    { stimulus: "sine histogram", bits: 10, noise: 3, readings: 65_536, coherent },
    { stimulus: "sine histogram", bits: 12, noise: 0.5, readings: 65_536, coherent },
  ]),
  { stimulus: "sine histogram", bits: 14, noise: 1, readings: 262_144, coherent: false },
  { stimulus: "sine histogram", bits: 10, noise: 0.5, readings: 65_536, coherent: false, line: "best-fit" },
  { stimulus: "sine histogram", bits: 8, noise: 0.3, readings: 4096, coherent: true, converter: "ideal" },
  { stimulus: "sine histogram", bits: 10, noise: 0.5, readings: 16_384, coherent: true, converter: "missing codes" },
  { stimulus: "sine histogram", bits: 10, noise: 0.5, readings: 16_384, coherent: false, converter: "random DNL" },
  { stimulus: "sine histogram", bits: 8, noise: 0.3, readings: 4096, coherent: false, correlation: 0.7 },
  { stimulus: "ramp", bits: 8, noise: 0.3, readings: 4096 },
  { stimulus: "ramp", bits: 8, noise: 0.3, readings: 4096, correlation: 0.7 },
  { stimulus: "ramp", bits: 10, noise: 0.5, readings: 65_536, correlation: 0.7 },
  { stimulus: "ramp", bits: 10, noise: 0.05, readings: 32_768 },
  { stimulus: "ramp", bits: 12, noise: 3, readings: 65_536, line: "best-fit" },
  { stimulus: "triangle", bits: 8, noise: 0.3, readings: 8192 },
  { stimulus: "triangle", bits: 12, noise: 0.5, readings: 65_536 },
  ...[0.05, 0.3, 1, 3].flatMap((noise) =>
    [60, 2000].map((readings): Condition => ({ stimulus: "steady", bits: 12, noise, readings })),
  ),
  { stimulus: "steady", bits: 12, noise: 0.3, readings: 2000, converter: "random DNL" },
  { stimulus: "steady", bits: 12, noise: 3, readings: 2000, converter: "random DNL" },
  { stimulus: "steady", bits: 12, noise: 0.3, readings: 2000, drift: 3 },
  { stimulus: "steady", bits: 12, noise: 1, readings: 2000, drift: 3, converter: "random DNL" },
  ...[60, 1000].flatMap((readings) =>
    [0.5, 3].map((noise): Condition => ({ stimulus: "steady", bits: 12, noise, readings, correlation: 0.7 })),
  ),
  { stimulus: "steady", bits: 12, noise: 0.5, readings: 1000, correlation: 0.98 },
  { stimulus: "steady", bits: 12, noise: 3, readings: 1000, correlation: 0.98 },
  { stimulus: "steps", bits: 8, noise: 0.3, readings: 1700 },
  { stimulus: "steps", bits: 8, noise: 3, readings: 1700, converter: "random DNL" },
  { stimulus: "steps", bits: 12, noise: 0.5, readings: 1700, correlation: 0.7 },
  { stimulus: "steps", bits: 12, noise: 0.05, readings: 1700 },
  { stimulus: "steps", bits: 12, noise: 0.5, readings: 1700 },
  { stimulus: "steps", bits: 12, noise: 1, readings: 17_000, line: "best-fit" },
  { stimulus: "steps", bits: 14, noise: 3, readings: 1700 },
];

const START = "<!-- calibration -->";
const END = "<!-- /calibration -->";

/** 95 % binomial scatter of a share that is truly 0.95. */
const scatter = (n: number): number => 1.96 * Math.sqrt((0.95 * 0.05) / n);

function row(c: Coverage): string {
  const share = c.claimed > 0 ? ((100 * c.held) / c.claimed).toFixed(1) : "–";
  const low = c.claimed > 0 && c.held / c.claimed < 0.93 - scatter(c.claimed) ? " LOW" : "";
  const bounds = c.bounds > 0 ? `  bounds ${c.boundsHeld}/${c.bounds}` : "";
  const shown = c.claimed + c.bounds;
  const wrong =
    shown > 0
      ? `  above ${(100 * (c.above / shown)).toFixed(1)} % below ${(100 * (c.below / shown)).toFixed(1)} %`
      : "";
  const nulls = c.nulls > 0 ? `  null ${c.nulls}` : "";
  return `  ${c.metric.padEnd(22)}${share.padStart(6)} % of ${String(c.claimed).padStart(4)}   ±${(c.halfWidth ?? Number.NaN).toPrecision(2)}${bounds}${wrong}${nulls}${low}`;
}

const wanted = CONDITIONS.filter((c) => only === undefined || describe(c).includes(only));
const share = argument("--share");

if (share !== undefined) {
  // A child works off every n-th condition and tells its parent.
  const [first = 0, step = 1] = share.split("/").map(Number);
  for (let i = first; i < wanted.length; i += step) process.send?.({ i, results: coverage(wanted[i]!, trials) });
  process.disconnect?.();
} else {
  const found: Coverage[][] = [];
  const children = availableParallelism();
  await Promise.all(
    Array.from({ length: children }, (_, first) => {
      const child = fork(process.argv[1]!, [...process.argv.slice(2), "--share", `${first}/${children}`]);
      child.on("message", ({ i, results }: { i: number; results: Coverage[] }) => {
        found[i] = results;
        console.log(`${describe(wanted[i]!)} readings`);
        for (const metric of METRIC_NAMES) {
          const one = results.find((r) => r.metric === metric);
          if (one) console.log(row(one));
        }
      });
      return new Promise<void>((done, fail) =>
        child.on("exit", (status) =>
          status === 0 ? done() : fail(new Error(`a calibration process ended with ${status}`)),
        ),
      );
    }),
  );
  if (only === undefined) writeReadme(wanted.map((condition, i) => ({ condition, results: found[i] ?? [] })));
}

/** The README's table, from this very run. */
function writeReadme(table: readonly { condition: Condition; results: readonly Coverage[] }[]): void {
  const cell = (c: Coverage | undefined): string =>
    c === undefined || c.claimed < 0.1 * trials
      ? c !== undefined && c.bounds > 0
        ? "bound"
        : "–"
      : ((100 * c.held) / c.claimed).toFixed(0);
  const sections = [
    { title: "Tone", kinds: ["tone"], metrics: ["enob", "sinad", "snr", "thd", "sfdr", "signalLevel", "noiseFloor"] },
    {
      title: "Transitions",
      kinds: ["sine histogram", "ramp", "triangle"],
      metrics: [
        "offsetError",
        "offsetAtLow",
        "gainError",
        "inlMax",
        "inlMin",
        "dnlMax",
        "dnlMin",
        "missingCodes",
        "totalUnadjustedError",
      ],
    },
    {
      title: "Steady",
      kinds: ["steady"],
      metrics: ["meanCode", "noiseRms", "codeRms", "effectiveResolution", "noiseFreeBits", "drift"],
    },
    {
      title: "Steps",
      kinds: ["steps"],
      metrics: ["offsetError", "gainError", "inlMax", "inlMin", "totalUnadjustedError"],
    },
  ].map(({ title, kinds, metrics }) => {
    const rows = table
      .filter((t) => kinds.includes(t.condition.stimulus))
      .map(
        (t) =>
          `| ${describe(t.condition)} | ${metrics.map((m) => cell(t.results.find((r) => r.metric === m))).join(" | ")} |`,
      );
    return [
      `**${title}**`,
      "",
      `| condition; readings | ${metrics.join(" | ")} |`,
      `|---|${metrics.map(() => "--:|").join("")}`,
      ...rows,
    ].join("\n");
  });
  const wrong = table
    .flatMap((t) =>
      t.results.flatMap((c) => {
        const shown = c.claimed + c.bounds;
        return shown < trials / 2 ? [] : [c.above / shown, c.below / shown].map((share) => ({ share, c, t }));
      }),
    )
    .sort((a, b) => a.share - b.share);
  const typical = wrong[wrong.length >> 1];
  const worst = wrong[wrong.length - 1];
  const decisions =
    typical === undefined || worst === undefined
      ? ""
      : ` With a limit at the truth itself, a guarded decision came out wrong (a pass that should fail, or a fail that should pass) in a median of ${(100 * typical.share).toFixed(1)} % of captures a side, at most ${(100 * worst.share).toFixed(1)} % (${worst.c.metric}; ${describe(worst.t.condition)} readings).`;
  const note = `Share of intervals, in per cent, that held the truth in ${trials} simulated captures a condition (scatter ±${(100 * scatter(trials)).toFixed(1)} %). “bound”: the capture gives one side only; “–”: it says that it cannot support the metric.${decisions}`;
  const readme = readFileSync("README.md", "utf8");
  const [before, after] = [readme.indexOf(START), readme.indexOf(END)];
  if (before >= 0 && after > before)
    writeFileSync(
      "README.md",
      `${readme.slice(0, before + START.length)}\n${note}\n\n${sections.join("\n\n")}\n${readme.slice(after)}`,
    );
}
