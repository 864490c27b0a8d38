import { mkdtemp, readdir, readFile, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { beforeEach, describe, expect, it } from "vitest";
import type { Io } from "../../cli/io.ts";
import { main } from "../../cli/main.ts";

const BENCH = `
title: Practice
converter: { bits: 12, range: { low: 0 V, high: 2.5 V } }
sampleRate: 50 kHz
captures:
  - name: tone
    file: logs/tone.csv
    stimulus: { kind: sine, frequency: 997 Hz, amplitude: 1.2 V, offset: 1.25 V }
  - name: level
    file: level.log.gz
    stimulus: { kind: steady, voltage: 1.1 V }
`;

function testIo(): Io & { text: string; errors: string } {
  const io = {
    text: "",
    errors: "",
    out: (t: string) => {
      io.text += t;
    },
    err: (t: string) => {
      io.errors += t;
    },
    colour: false,
    progress: false,
    columns: 80,
    stdin: (async function* () {})(),
    status: 0,
  };
  return io;
}

describe("codestair simulate", () => {
  let folder: string;
  let bench: string;
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), "codestair-simulate-"));
    bench = join(folder, "bench.yaml");
    await writeFile(bench, BENCH);
  });
  const run = async (...args: string[]) => {
    const io = testIo();
    const status = await main(["simulate", ...args], io);
    return { status, io };
  };

  it("writes the logs that the bench file names, and the truth, each marked as simulated", async () => {
    const out = join(folder, "out");
    const { status, io } = await run(
      bench,
      "--out",
      out,
      "--readings",
      "200",
      "--fault",
      "tone/lost=3@100",
      "--seed",
      "5",
    );
    expect(status).toBe(0);
    const tone = await readFile(join(out, "logs", "tone.csv"), "utf8");
    expect(tone).toMatch(/^# simulated/);
    expect(gunzipSync(await readFile(join(out, "level.log.gz"))).toString()).toContain("simulated");
    const truth = JSON.parse(await readFile(join(out, "bench.truth.json"), "utf8"));
    expect(truth.simulated).toBe(true);
    expect(truth.converters).toHaveLength(1);
    expect(truth.converters[0].transitions).toHaveLength(4095);
    expect(truth.captures[0].planted).toEqual([
      expect.objectContaining({ fault: "lost", size: 3, readings: [[100, 100]], finding: "readings-lost" }),
    ]);
    expect(truth.captures[1].planted).toEqual([]);
    expect(io.text).toContain("readings-lost");
    expect(io.text).toContain("no hardware was measured");
  });

  it("the same seed gives the same bytes", async () => {
    await run(bench, "--out", join(folder, "a"), "--readings", "100", "--seed", "3", "-q");
    await run(bench, "--out", join(folder, "b"), "--readings", "100", "--seed", "3", "-q");
    expect(await readFile(join(folder, "a", "logs", "tone.csv"))).toEqual(
      await readFile(join(folder, "b", "logs", "tone.csv")),
    );
  });

  it("does not overwrite a log that may be a measurement", async () => {
    await writeFile(join(folder, "level.log.gz"), "1831\n1832\n");
    const { status, io } = await run(bench, "--out", folder, "--readings", "50");
    expect(status).toBe(2);
    expect(io.errors).toContain("does not look simulated");
    expect(await readFile(join(folder, "level.log.gz"), "utf8")).toBe("1831\n1832\n");
    expect(await readdir(folder)).not.toContain("logs");
    expect((await run(bench, "--out", folder, "--readings", "50", "--force")).status).toBe(0);
  });

  it("tells every mistake at once and exits with 2", async () => {
    const { status, io } = await run(bench, "--fault", "gremlins", "--fault", "nobody/lost=1", "--dialect", "morse");
    expect(status).toBe(2);
    expect(io.errors).toContain("gremlins");
    expect(io.errors).toContain("nobody/lost=1");
    expect(io.errors).toContain("morse");
  });

  it("keeps a log inside the output folder whatever the bench file names", async () => {
    await writeFile(bench, BENCH.replace("logs/tone.csv", "../../outside.csv"));
    const out = join(folder, "deep", "out");
    expect((await run(bench, "--out", out, "--readings", "50", "-q")).status).toBe(0);
    expect(await readdir(out)).toContain("outside.csv");
  });

  it("lists faults and dialects", async () => {
    const { status, io } = await run("--list");
    expect(status).toBe(0);
    expect(io.text).toContain("repeated-block");
    expect(io.text).toContain("json-lines");
  });
});
