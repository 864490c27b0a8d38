import { createHash } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { afterAll, describe, expect, it } from "vitest";
import { openLog } from "../../cli/openLog.ts";
import { readBench } from "../../lib/bench/readBench.ts";
import { SIGNALS } from "../capture/signals.ts";
import { runCommand } from "./runCommand.ts";

const folder = mkdtempSync(join(tmpdir(), "codestair-inspect-"));
afterAll(() => rmSync(folder, { recursive: true }));
const codes = SIGNALS.sine!(400);
const csv = `t_us,adc0\n${codes.map((v, i) => `${i * 20},${v}\n`).join("")}wifi: up\n`;
const write = (name: string, content: string | Uint8Array): string => {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
};

const run = (args: readonly string[], input?: string | Uint8Array) => runCommand(["inspect", ...args], input);

describe("codestair inspect", () => {
  const path = write("capture.csv", csv);

  it("says the dialect, what was left out, statistics, course and what to do next", async () => {
    const { out, status } = await run([path]);
    expect(status).toBe(0);
    expect(out.replace(/\s+/g, " ")).toContain(
      'Comma-separated, header in line 1, codes from column 2 "adc0" in decimal, time from column 1 "t_us" in µs; 400 readings in 402 lines',
    );
    expect(out).toMatch(/line 402: wifi: up/);
    expect(out).toMatch(/adc0: 400 readings, \d+ to \d+, mean/);
    expect(out).toMatch(/looks like a sine, 1726\.\d Hz/);
    expect(out).toMatch(/Sample rate: 50000 Hz/);
    expect(out).toMatch(/--bench bench\.yaml/);
    for (const line of out.split("\n")) expect(line.length, line).toBeLessThanOrEqual(80 + folder.length);
  });

  it("writes the same as JSON", async () => {
    const { out } = await run([path, "--json", "-"]);
    const found = JSON.parse(out);
    const mean = codes.reduce((a, b) => a + b, 0) / codes.length;
    expect(found).toMatchObject({
      schema: "codestair-inspection/1",
      readings: 400,
      lines: 402,
      sha256: createHash("sha256").update(csv).digest("hex"),
      channels: [{ name: "adc0", readings: 400, min: Math.min(...codes), max: Math.max(...codes), bits: 12 }],
      skipped: [
        { reason: "header", count: 1 },
        { reason: "text without a reading", count: 1, examples: [{ line: 402, text: "wifi: up" }] },
      ],
      sampleRate: { unit: "Hz", basis: "timestamps" },
    });
    expect(found.channels[0].mean).toBeCloseTo(mean, 9);
    expect(found.channels[0].distinct).toBe(new Set(codes).size);
  });

  it("writes a bench file to start from, whose log it names from where it lies", async () => {
    const bench = join(folder, "sub", "bench.yaml");
    const { out } = await run([path, "--bench", bench]);
    expect(out).toMatch(/Fill in every ___/);
    const text = readFileSync(bench, "utf8");
    expect(text).toMatch(/file: "?\.\.\/capture\.csv/);
    expect(readBench(text, "bench.yaml").problems.length).toBeGreaterThan(0);
  });

  it("reads standard input and gzip, and hashes the bytes as they lie on disk", async () => {
    expect(JSON.parse((await run(["-", "--json", "-"], csv)).out).readings).toBe(400);
    const packed = gzipSync(csv);
    const found = JSON.parse((await run([write("capture.gz", packed), "--json", "-"])).out);
    expect(found).toMatchObject({
      readings: 400,
      compressed: true,
      sha256: createHash("sha256").update(packed).digest("hex"),
    });
    expect(found.dialect).toMatch(/gzip/);
  });

  it("lets every inference be forced", async () => {
    const bare = write("bare.txt", "10 7 100\n11 8 200\n12 9 300\n");
    const forced = async (...options: string[]) => JSON.parse((await run([bare, ...options, "--json", "-"])).out);
    expect((await forced("--base", "16", "--channel", "1")).channels[0]).toMatchObject({ min: 16, max: 18 });
    const timed = await forced("--time", "1", "--time-unit", "ms", "--channel", "3");
    expect(timed.sampleRate.value).toBeCloseTo(1000, 6);
    expect(timed.forced).toEqual(["channel", "time", "timeUnit"]);
    expect(
      (await forced("--delimiter", "space", "--no-header", "--sequence", "2", "--channel", "3")).sequence,
    ).toMatchObject({ gaps: 0 });
    const scan = write("scan.txt", "1\n2\n3\n4\n");
    const { out } = await run([scan, "--interleave", "a,b", "--json", "-"]);
    expect(JSON.parse(out).channels.map((c: { name: string; max: number }) => [c.name, c.max])).toEqual([
      ["a", 3],
      ["b", 4],
    ]);
    expect((await run([scan, "--bytes", "little-endian"])).status).toBe(0);
  });

  it("ends with 2 and says what to do: nothing there, a folder, no log, wrong options", async () => {
    const status = async (...args: string[]): Promise<[number, string]> => {
      const { status: code, err, out } = await run(args);
      expect(out).toBe("");
      return [code, err];
    };
    expect(await status(join(folder, "none.csv"))).toEqual([2, expect.stringMatching(/none\.csv.*no such file/)]);
    expect(await status(folder)).toEqual([2, expect.stringMatching(/is a folder/)]);
    expect(await status(write("empty.txt", ""))).toEqual([2, expect.stringMatching(/empty\.txt.*log is empty/)]);
    expect(await status(write("cut.gz", gzipSync(csv).subarray(0, 200)))).toEqual([
      2,
      expect.stringMatching(/gzip data are damaged/),
    ]);
    expect(await status(path, "--channel", "adc7")).toEqual([2, expect.stringMatching(/"adc7".*"adc0"/)]);
    expect((await status(path, "--base", "7"))[0]).toBe(2);
    expect((await status(path, "--delimiter", "ab"))[0]).toBe(2);
    expect((await status())[0]).toBe(2);
  });

  it("is quiet when asked", async () => expect((await run([path, "--quiet"])).out).toBe(""));
});

describe("openLog", () => {
  const io = { stdin: (async function* () {})() };
  it("refuses a gzip bomb in bounded memory", async () => {
    // 320 MB of one line repeated pack a thousandfold; unpacking stops at 256 MiB.
    const bomb = write("bomb.gz", gzipSync(Buffer.alloc(320_000_000, "2047\n")));
    await expect(openLog(bomb, {}, io)).rejects.toThrow(/unpack to more than 256 MiB.*gunzip/s);
  });
  it("tells its progress in bytes, and how many there are", async () => {
    const seen: [number, number][] = [];
    await openLog(write("p.csv", csv), {}, io, (bytes, total) => seen.push([bytes, total]));
    expect(seen.at(-1)).toEqual([csv.length, csv.length]);
  });
});
