import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { runCommand } from "./runCommand.ts";

const run = runCommand;

/** An ideal 10-bit converter, 0 V to 1 V, on a sine of 0.48 V about 0.5 V, noiseless: ENOB is 10 by definition, offset and gain error 0. */
function idealSine(readings = 4096): string {
  const lines = ["code"];
  for (let n = 0; n < readings; n++) {
    const volts = 0.5 + 0.48 * Math.cos((2 * Math.PI * 487 * n) / 4096 + 0.1);
    lines.push(String(Math.min(1023, Math.max(0, Math.floor(volts * 1024 + 0.5)))));
  }
  return `${lines.join("\n")}\n`;
}

const BENCH = (limits: string): string => `title: Ideal (simulated)
converter: { bits: 10, range: { low: 0 V, high: 1 V } }
captures:
  - name: tone
    file: tone.csv
    sampleRate: 10 kHz
    stimulus: { kind: sine, frequency: 1188.96484375 Hz, amplitude: 480 mV, offset: 0.5 V }
limits: ${limits}
`;

describe("score", () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), "codestair-score-"));
    writeFileSync(join(folder, "tone.csv"), idealSine());
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const bench = (name: string, limits: string): string => {
    const path = join(folder, name);
    writeFileSync(path, BENCH(limits));
    return path;
  };

  it("passes an ideal converter, and writes page, JSON, tables and Markdown", async () => {
    const path = bench("pass.yaml", "{ enob: { min: 9.8 } }");
    const json = join(folder, "r.json");
    const tables = join(folder, "tables");
    const markdown = join(folder, "r.md");
    const { status, out } = await run(["score", path, "--json", json, "--tables", tables, "--markdown", markdown]);
    expect(out).toMatch(/^PASS/);
    expect(status).toBe(0);
    expect(existsSync(join(folder, "pass.report.html"))).toBe(true);
    expect(readdirSync(tables).length).toBeGreaterThan(2);
    expect(readFileSync(markdown, "utf8")).toContain("ENOB");
    const result = JSON.parse(readFileSync(json, "utf8"));
    expect(result.schema).toBe("codestair-result/1");
    const { enob } = result.captures[0].metrics;
    // Closed form: an ideal quantiser's ENOB is N. A coherent record of 487 cycles departs from it by its own pattern, a few hundredths of a bit.
    expect(enob.value).toBeGreaterThan(9.93);
    expect(enob.value).toBeLessThan(10.07);
    expect(enob.low).toBeLessThanOrEqual(enob.value);
    expect(readdirSync(folder).filter((f) => f.endsWith(".part"))).toEqual([]);
  });

  it("fails with exit status 1, and is undecided with 3", async () => {
    expect((await run(["score", bench("fail.yaml", "{ enob: { min: 11 } }"), "--no-html", "-q"])).status).toBe(1);
    // No capture of a tone determines the noise of a steady input.
    const undecided = await run(["score", bench("open.yaml", "{ codeRms: { max: 1 } }"), "--no-html"]);
    expect(undecided.status).toBe(3);
    expect(undecided.out).toContain("steady");
  });

  it("takes the log from standard input", async () => {
    const { status, out } = await run(
      ["score", bench("in.yaml", "{ enob: { min: 9.8 } }"), "-", "--no-html"],
      idealSine(),
    );
    expect(status).toBe(0);
    expect(out).toContain("PASS");
  });

  it("writes only JSON to standard output with --json -", async () => {
    const { out } = await run(["score", bench("j.yaml", "{}"), "--json", "-", "--no-html"]);
    expect(JSON.parse(out).captures[0].readings).toBe(4096);
  });

  it("gives the same result for the same log, to the last digit", async () => {
    const path = bench("same.yaml", "{}");
    const once = JSON.parse((await run(["score", path, "--json", "-", "--no-html"])).out);
    const again = JSON.parse((await run(["score", path, "--json", "-", "--no-html"])).out);
    expect({ ...again, written: null }).toEqual({ ...once, written: null });
  });

  it("reports every problem of a bench file, with its line, and exits with 2", async () => {
    const path = join(folder, "bad.yaml");
    writeFileSync(
      path,
      "title: x\nconverter: { bits: 99, range: { low: 1 V, high: 0 V } }\nstimulus: { kind: sine, frequency: 997 V }\n",
    );
    const { status, err, out } = await run(["score", path]);
    expect(status).toBe(2);
    expect(out).toBe("");
    expect(err).toMatch(/bad\.yaml:2 .*bits/);
    expect(err).toMatch(/bad\.yaml:3 .*frequency/);
    expect(err).not.toMatch(/at .*\.ts:/);
  });

  it("reports an unreadable capture beside the others, and exits with 2", async () => {
    const path = join(folder, "two.yaml");
    writeFileSync(
      path,
      `${BENCH("{}").replace("limits: {}", "")}  - { name: gone, file: gone.csv, stimulus: { kind: steady } }\n`,
    );
    const { status, out } = await run(["score", path, "--no-html"]);
    expect(status).toBe(2);
    expect(out).toContain("gone");
    expect(out).toContain("ENOB");
  });

  it("says which file is missing", async () => {
    const { status, err } = await run(["score", join(folder, "nowhere.yaml")]);
    expect(status).toBe(2);
    expect(err).toContain("nowhere.yaml");
    expect(err).toContain("no such file");
  });

  it("judges a page again by another bench file's limits", async () => {
    const path = bench("page.yaml", "{ enob: { min: 9.8 } }");
    await run(["score", path, "-q"]);
    const strict = bench("strict.yaml", "{ enob: { min: 11 } }");
    const { status, out } = await run(["score", strict, join(folder, "page.report.html")]);
    expect(status).toBe(1);
    expect(out).toMatch(/^FAIL/);
  });

  it("maps a mistyped option and an unknown command to exit status 2", async () => {
    expect((await run(["score", "x.yaml", "--jsn", "y"])).status).toBe(2);
    const unknown = await run(["scoer"]);
    expect(unknown.status).toBe(2);
    expect(unknown.err).toContain("score");
  });
});

describe("watch", () => {
  it("scores again when the log is replaced", async () => {
    const folder = mkdtempSync(join(tmpdir(), "codestair-watch-"));
    const log = join(folder, "tone.csv");
    const path = join(folder, "w.yaml");
    writeFileSync(log, idealSine(1024));
    writeFileSync(path, BENCH("{}"));
    const json = join(folder, "r.json");
    const watching = run(["watch", path, "--times", "2", "--json", json, "-q"]);
    // The first score is there before the log grows; its own time does not matter.
    while (!existsSync(json)) await new Promise((r) => setTimeout(r, 20));
    expect(JSON.parse(readFileSync(json, "utf8")).captures[0].readings).toBe(1024);
    writeFileSync(log, idealSine(2048));
    await watching;
    expect(JSON.parse(readFileSync(json, "utf8")).captures[0].readings).toBe(2048);
    expect(readFileSync(join(folder, "w.report.html"), "utf8")).toContain('data-reload="true"');
    rmSync(folder, { recursive: true, force: true });
  });
});
