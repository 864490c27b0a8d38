import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { runCommand } from "./runCommand.ts";

let folder = "";
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "codestair-plan-"));
});
afterAll(async () => {
  await rm(folder, { recursive: true, force: true });
});

const run = (...args: string[]) => runCommand(["plan", ...args]);

const BENCH = `title: Gauge
converter:
  bits: 12
  range: { high: 2.5 V }
  clock: 4 MHz
  sampleCycles: 24
  conversionCycles: 15
  input: { sourceResistance: 4.7 k, switchResistance: 2 k, sampleCapacitance: 8 pF }
generator: { step: 0.1 Hz }
stimulus: { kind: sine, frequency: 997 Hz, amplitude: 1.2 V, offset: 1.25 V }
limits: { enob: { min: 10.2 } }
`;

async function bench(name: string, text = BENCH): Promise<string> {
  const path = join(folder, name);
  await writeFile(path, text);
  return path;
}

describe("codestair plan", () => {
  it("prints one text of at most 80 columns", async () => {
    const { status, out, err } = await run(await bench("a.yaml"));
    expect([status, err]).toEqual([0, ""]);
    expect(out).toMatch(/^Gauge: plan\n/);
    expect(out).toMatch(/settling {8}settles: to ½ LSB in 483.ns of 6.µs/);
    expect(Math.max(...out.split("\n").map((line) => line.length))).toBeLessThanOrEqual(80);
  });

  it("writes JSON to standard output alone, or to a file", async () => {
    const path = await bench("b.yaml");
    const { out } = await run(path, "--json", "-");
    expect(JSON.parse(out)).toMatchObject({ schema: "codestair-plan/1", title: "Gauge", state: "ready" });
    const file = join(folder, "plan.json");
    expect((await run(path, "--json", file, "--quiet")).out).toBe("");
    expect(JSON.parse(await readFile(file, "utf8"))).toEqual(JSON.parse(out));
  });

  it("says by its exit status what will not work or cannot be decided", async () => {
    expect((await run(await bench("c.yaml", BENCH.replace("4.7 k", "470 k")))).status).toBe(1);
    expect((await run(await bench("d.yaml", `${BENCH}use: histogram\n`))).status).toBe(3);
    expect((await run(await bench("e.yaml", BENCH.replace("997 Hz", "997 V")))).status).toBe(2);
    expect((await run(join(folder, "none.yaml"))).status).toBe(2);
    expect((await run()).status).toBe(2);
  });

  it("plans one capture alone, with the limits that are its own", async () => {
    const two = BENCH.replace(
      /stimulus: .*/,
      "captures:\n  - { name: t, stimulus: { kind: sine, frequency: 997 Hz } }\n  - { name: s, stimulus: { kind: steady } }",
    ).replace("enob: { min: 10.2 }", "enob: { min: 10.2 }, noiseRms: { max: 1 }");
    const { status, out } = await run(await bench("m.yaml", two), "--capture", "s", "--json", "-");
    expect(status).toBe(0);
    const plan = JSON.parse(out);
    expect(plan.captures.map((c: { name: string }) => c.name)).toEqual(["s"]);
    expect(plan.limits.map((l: { metric: string }) => l.metric)).toEqual(["noiseRms"]);
  });

  it("completes the bench file in place or as another", async () => {
    const path = await bench("f.yaml");
    const other = join(folder, "g.yaml");
    const { out } = await run(path, "--write", other);
    expect(out).toMatch(/Written to .*g\.yaml:\n {2}stimulus\.frequency: /);
    expect(await readFile(path, "utf8")).toBe(BENCH);
    await run(path, "--write", "--quiet");
    expect(await readFile(path, "utf8")).toBe(await readFile(other, "utf8"));
    expect(await readFile(path, "utf8")).toMatch(/readings: \d+/);
  });

  it("takes readings, prime, tolerance and noise", async () => {
    const path = await bench("h.yaml");
    const { out } = await run(path, "--readings", "10000", "--prime", "--json", "-");
    expect(JSON.parse(out).captures[0]).toMatchObject({ readings: 10_000, tone: { isPrime: true, readings: 10_000 } });
    for (const bad of [
      ["--readings", "0"],
      ["--readings", "1.5"],
      ["--tolerance", "0"],
      ["--noise", "x"],
      ["--confidence", "20 %"],
      ["--capture", "none"],
      ["--result", "x.json"],
    ])
      expect((await run(path, ...bad)).status, bad.join(" ")).toBe(2);
  });
});

describe("codestair plan --at", () => {
  it("gives the code for a voltage by both divisors, and the time a sine spends above it", async () => {
    const { status, out } = await run(await bench("i.yaml"), "--at", "1.8 V");
    expect(status).toBe(0);
    // 1.8/2.5·4096 = 2949.12; 1.8/2.5·4095 = 2948.4 (CHECKS X1, X2 by hand for this range).
    expect(out).toMatch(/divisor 4096 +code 2949, rounded down/);
    expect(out).toMatch(/divisor 4095 +code 2948, rounded to nearest/);
    // acos(0.55/1.2)/π = 34.84 %.
    expect(out).toMatch(/34\.84\s% of the sine of capture lies above 1\.800000.V/);
  });

  it("gives the voltages for a code, decimal or hexadecimal", async () => {
    const path = await bench("j.yaml");
    const { out } = await run(path, "--at", "2234");
    expect(out).toMatch(/given by +1\.363220.V to 1\.363831.V/);
    expect((await run(path, "--at", "0x8ba")).out).toBe(out);
  });

  it("takes a negative voltage and refuses what could be either", async () => {
    const path = await bench("k.yaml");
    expect((await run(path, "--at", "-1 V")).out).toMatch(/outside the converter's range/);
    for (const bad of ["1.8", "5000", "997 Hz", "", "-3"]) {
      const { status, err } = await run(path, "--at", bad);
      expect([status, bad]).toEqual([2, bad]);
      expect(err).toMatch(/^--at: /);
    }
  });

  it("shows where a measured converter trips", async () => {
    const scale = { bits: 12, lsb: 2.5 / 4096, firstTransition: 0.5, topCode: 4095 };
    const converter = {
      bits: 12,
      low: 0,
      high: 2.5,
      coding: "binary",
      firstTransition: 0.5,
      line: "endpoint",
      scale,
      averaging: null,
      readingTime: null,
    };
    const result = {
      schema: "codestair-result/1",
      tool: { name: "codestair", version: "0" },
      written: null,
      bench: { title: "x", conditions: {}, converter, decision: "guarded", allow: {} },
      captures: [
        {
          name: "histogram",
          file: null,
          readings: 1000,
          converter,
          metrics: {},
          transitions: {
            codes: [2949, 2950],
            volts: [1.8005, 1.801],
            standard: [1e-4, 1e-4],
            inl: [0, 0],
            dnl: [0, null],
          },
        },
      ],
      verdict: { decision: "none", limits: [] },
    };
    const file = join(folder, "result.json");
    await writeFile(file, JSON.stringify(result));
    const { out } = await run(await bench("l.yaml"), "--at", "1.8 V", "--result", file);
    // T[2949] = 2948.5·2.5/4096 = 1.799622 V ideal, so 1.8005 V lies 1.44 LSB high.
    expect(out).toMatch(
      /histogram: "code >= 2949" trips at\s+1\.80050 ±\s0\.00020\sV,\s+1\.4\sLSB\s+from\s+the\s+ideal/,
    );
    expect(out).toMatch(/"code > 2949" trips at/);
  });
});
