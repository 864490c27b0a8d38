/**
 * Speed and memory beside what a person would write instead (peer.py: pandas and numpy, no plots, no uncertainty, no checks).
 *
 *   npm run speed              10 k, 1 M and 10 M readings, three forms of log, reading alone against `wc -l`, start-up
 *   npm run speed -- --long    100 M readings as well (about 0.5 GB of log in the temporary folder)
 *   npm run speed -- --rounds 7
 *
 * Every number is a median of several rounds of the whole process, taken in turn in this one run. Nothing here is a test.
 */
import { spawn, spawnSync } from "node:child_process";
import {
  closeSync,
  existsSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
  writeSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { scaleOf } from "../../lib/bench/scale.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { convert, simulatedTransitions } from "../../lib/simulate/converterModel.ts";

const CLI = resolve("dist/codestair.js");
const PEER = resolve("test/speed/peer.py");
const argument = (name: string): string | undefined => process.argv[process.argv.indexOf(name) + 1];
const rounds = process.argv.includes("--rounds") ? Number(argument("--rounds")) : 5;
const sizes = [10_000, 1_000_000, 10_000_000, ...(process.argv.includes("--long") ? [100_000_000] : [])];

const BITS = 12;
// Spans 99.6 % of the range without clipping, so that tone and histogram are both measured, as the peer does.
const AMPLITUDE = 1.245;
const OFFSET = 1.25;
// A hundredth of a cycle and more a reading, by the golden section: phases never nearly repeat, however long the record.
const CYCLES = (0.02 * (Math.sqrt(5) - 1)) / 2;
const RATE = 50_000;

interface Run {
  readonly seconds: number;
  readonly megabytes: number;
}

/** One process from start to end: wall time, and the kernel's own high-water mark of its memory, read until the process is gone. */
function run(command: string, args: readonly string[]): Promise<Run> {
  return new Promise((done, fail) => {
    const started = performance.now();
    const child = spawn(command, args, { stdio: "ignore" });
    let kilobytes = 0;
    const look = (): void => {
      try {
        const found = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${child.pid}/status`, "latin1"));
        if (found) kilobytes = Math.max(kilobytes, Number(found[1]));
      } catch {
        // Gone already, or no /proc on this system: the last mark stands.
      }
    };
    const timer = setInterval(look, 5);
    child.on("error", fail);
    child.on("exit", (status) => {
      clearInterval(timer);
      if (status === 2 || status === null) fail(new Error(`${command} ${args.join(" ")} ended with ${status}`));
      else done({ seconds: (performance.now() - started) / 1000, megabytes: kilobytes / 1024 });
    });
  });
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] as number;
}

/** Several commands in turn, so that a slow minute of the machine falls on all of them. */
async function inTurn(commands: readonly (readonly [string, readonly string[]])[], times: number): Promise<Run[]> {
  const runs: Run[][] = commands.map(() => []);
  for (let round = 0; round < times; round++)
    for (const [i, [command, args]] of commands.entries()) (runs[i] as Run[]).push(await run(command, args));
  return runs.map((r) => ({ seconds: median(r.map((x) => x.seconds)), megabytes: median(r.map((x) => x.megabytes)) }));
}

/** A sine through a converter with known faults; the same for the same size. */
function writeLogs(folder: string, readings: number): Record<"plain" | "csv" | "serial", string> {
  const scale = scaleOf({ bits: BITS, low: 0, high: 2.5, firstTransition: 0.5 });
  const T = simulatedTransitions(scale, { offset: 1.4, gainPercent: 0.1, dnlSigma: 0.15, bow: 0.8, seed: 3 });
  const random = seededRandom(11);
  const form = {
    plain: { start: "", line: (code: number, _n: number) => `${code}\n` },
    csv: { start: "t_us,adc0\n", line: (code: number, n: number) => `${n * 20},${code}\n` },
    serial: { start: "boot ok, gauge logger\n", line: (code: number, _n: number) => `ADC0 = ${code}\r\n` },
  };
  const names = Object.keys(form) as (keyof typeof form)[];
  const paths = Object.fromEntries(names.map((n) => [n, join(folder, `${n}-${readings}.txt`)])) as Record<
    keyof typeof form,
    string
  >;
  // The large logs are there for the plain form only: 100 M lines of CSV would fill a small disk.
  const wanted = readings > 10_000_000 ? (["plain"] as const) : names;
  const open = Object.fromEntries(wanted.map((n) => [n, openSync(paths[n], "w")]));
  const text: Record<string, string[]> = Object.fromEntries(wanted.map((n) => [n, [form[n].start]]));
  const flush = (): void => {
    for (const n of wanted) {
      writeSync(open[n] as number, (text[n] as string[]).join(""));
      text[n] = [];
    }
  };
  const step = 2 * Math.PI * CYCLES;
  for (let n = 0; n < readings; n++) {
    const code = convert(T, OFFSET + AMPLITUDE * Math.cos(step * n) + 3e-4 * random.normal());
    for (const name of wanted) (text[name] as string[]).push(form[name].line(code, n));
    if (n % 50_000 === 49_999) flush();
  }
  flush();
  for (const n of wanted) closeSync(open[n] as number);
  return paths;
}

function writeBench(folder: string, log: string, form: string): string {
  const path = join(folder, `bench-${form}.yaml`);
  const time = form === "csv" ? "    time: t_us\n    channel: adc0\n" : `    sampleRate: ${RATE} Hz\n`;
  writeFileSync(
    path,
    `title: Speed (simulated)
conditions: { simulated: "yes" }
converter: { bits: ${BITS}, range: { low: 0 V, high: 2.5 V } }
captures:
  - name: sine
    file: ${log}
${time}    stimulus: { kind: sine, frequency: ${CYCLES * RATE} Hz, amplitude: ${AMPLITUDE} V, offset: ${OFFSET} V }
`,
  );
  return path;
}

const folder = mkdtempSync(join(tmpdir(), "codestair-speed-"));
process.on("exit", () => rmSync(folder, { recursive: true, force: true }));
process.on("SIGINT", () => process.exit(130));

if (!existsSync(CLI)) {
  console.error("dist/codestair.js is missing: run `npm run build` first.");
  process.exit(2);
}
// Debian's Python first: its packages are the ones the message below installs.
const python = ["/usr/bin/python3", "python3"].find((p) => spawnSync(p, ["-c", "import numpy, pandas"]).status === 0);
if (python === undefined)
  console.log(
    "The peer's packages are missing (Debian: apt-get install python3-numpy python3-pandas). Going on without the peer.\n",
  );

console.log(
  `Medians of ${rounds} rounds, whole process, report and JSON included. ${new Date().toISOString().slice(0, 10)}, Node ${process.version}.\n`,
);

const tiny = writeLogs(folder, 4096);
const tinyBench = writeBench(folder, tiny.plain, "plain");
const out = ["--html", join(folder, "report.html"), "--json", join(folder, "result.json"), "--quiet"];
const [bare, version, small] = await inTurn(
  [
    [process.execPath, ["-e", "0"]],
    [process.execPath, [CLI, "--version"]],
    [process.execPath, [CLI, "score", tinyBench, ...out]],
  ],
  Math.max(rounds, 9),
);
const ms = (run: Run | undefined): string => (1000 * (run?.seconds ?? Number.NaN)).toFixed(0).padStart(6);
console.log(`start-up          bare node -e 0              ${ms(bare)} ms`);
console.log(
  `                  codestair --version         ${ms(version)} ms   ${((version!.seconds - bare!.seconds) * 1000).toFixed(0)} ms above bare (aim 60)`,
);
console.log(
  `                  score 4 096 with report     ${ms(small)} ms   ${((small!.seconds - bare!.seconds) * 1000).toFixed(0)} ms above bare (aim 350)\n`,
);

console.log("readings    log      MB     codestair       peer            time   memory   inspect   wc -l");
for (const size of sizes) {
  const logs = writeLogs(folder, size);
  const times = size >= 100_000_000 ? 1 : size >= 10_000_000 ? Math.min(rounds, 3) : rounds;
  for (const form of ["plain", "csv", "serial"] as const) {
    if (!existsSync(logs[form])) continue;
    const bench = writeBench(folder, logs[form], form);
    const commands: [string, string[]][] = [
      [process.execPath, [CLI, "score", bench, ...out]],
      [process.execPath, [CLI, "inspect", logs[form], "--quiet"]],
      ["wc", ["-l", logs[form]]],
    ];
    // The peer reads one code a line and nothing else.
    const peer = python !== undefined && form === "plain" && size <= 10_000_000;
    if (peer) commands.push([python, [PEER, logs[form], String(BITS), "0", "2.5", String(AMPLITUDE), String(OFFSET)]]);
    const [ours, reading, count, theirs] = await inTurn(commands, times);
    const cell = (r: Run | undefined): string =>
      r ? `${r.seconds.toFixed(2).padStart(6)} s ${r.megabytes.toFixed(0).padStart(5)} MB` : "".padEnd(17);
    const ratio = (a: number, b: number | undefined): string =>
      b === undefined ? "     -" : (a / b).toFixed(2).padStart(6);
    console.log(
      `${String(size).padStart(9)}   ${form.padEnd(7)}${(statSync(logs[form]).size / 1e6).toFixed(1).padStart(6)}  ${cell(ours)}  ${cell(theirs)} ${ratio(ours!.seconds, theirs?.seconds)}   ${ratio(ours!.megabytes, theirs?.megabytes)}   ${reading!.seconds.toFixed(2).padStart(6)} s ${count!.seconds.toFixed(3).padStart(7)} s`,
    );
    rmSync(logs[form]);
  }
}
console.log("\nAims: 1 M at most 0.5 of the peer's time; 10 M at most 0.3 of its time and memory; 100 M below 700 MB.");
