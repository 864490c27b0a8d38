import { afterEach, describe, expect, it } from "vitest";
import { figure } from "../compare/builtResult.ts";
import { boardResult, resultFolder } from "./resultFiles.ts";

let folder: ReturnType<typeof resultFolder>;
afterEach(() => folder.remove());

describe("codestair compare", () => {
  it("answers first, in 80 columns, says that the data are simulated, and writes the page beside the last input", async () => {
    folder = resultFolder({ "boardA.json": boardResult("A", 10.4), "boardB.json": boardResult("B", 10.9) });
    const { out, err, status } = await folder.run("compare", "boardA.json", "boardB.json");
    expect(err).toBe("");
    expect(status).toBe(0);
    expect(out).toMatch(/^boardB is better than boardA: ENOB \+0\.500 ± 0\.042 bit/);
    expect(out).toContain("Simulated data");
    expect(
      Math.max(
        ...out
          .split("\n")
          .filter((l) => !l.startsWith("Page:"))
          .map((l) => [...l].length),
      ),
    ).toBeLessThanOrEqual(80);
    const page = folder.read("boardB.compare.html");
    expect(page).toContain("Simulated data.");
    expect(page).toContain("+0.500 ±\u00a00.042\u00a0bit");
    expect(page).not.toMatch(/(?:src|href)="https?:/);
  });

  it("escapes what a result's author wrote", async () => {
    const hostile = boardResult("<img src=x onerror=alert(1)>", 10.4);
    folder = resultFolder({ "a.json": hostile, "b.json": hostile });
    await folder.run("compare", "a.json", "b.json");
    expect(folder.read("b.compare.html")).not.toContain("<img");
  });

  it("writes JSON to standard output and nothing else there", async () => {
    folder = resultFolder({ "a.json": boardResult("A", 10.4), "b.json": boardResult("B", 10.9) });
    const { out } = await folder.run("compare", "a.json", "b.json", "--json", "-", "--no-html");
    const json = JSON.parse(out);
    expect(json).toMatchObject({ schema: "codestair-comparison/1", reference: { label: "a" } });
    expect(json.others[0].metrics[0]).toMatchObject({ metric: "enob", change: "better" });
    expect(json.others[0].metrics[0].difference.value).toBeCloseTo(0.5, 12);
    expect(() => folder.read("b.compare.html")).toThrow();
  });

  it("keeps numbers whole where labels are long", async () => {
    const metrics = {
      totalUnadjustedError: figure("totalUnadjustedError", 7.123, 2.5),
      offsetError: figure("offsetError", -3.21, 0.034),
    };
    folder = resultFolder({
      "river-gauge-board-with-a-long-name-A.json": boardResult("A", 10.4, { metrics }),
      "river-gauge-board-with-a-long-name-B.json": boardResult("B", 10.9, { metrics }),
    });
    const { out } = await folder.run(
      "compare",
      "river-gauge-board-with-a-long-name-A.json",
      "river-gauge-board-with-a-long-name-B.json",
      "--no-html",
    );
    expect(out).toContain("first: river-gauge-board-with-a-long-name-A");
    expect(Math.max(...out.split("\n").map((l) => [...l].length))).toBeLessThanOrEqual(80);
  });

  it("tells a lone result what is missing", async () => {
    folder = resultFolder({ "a.json": boardResult("A", 10.4) });
    const { err, status, out } = await folder.run("compare", "a.json");
    expect(status).toBe(2);
    expect(out).toBe("");
    expect(err).toContain("Give a second bench file or result");
  });

  it("names a file that is not there", async () => {
    folder = resultFolder({ "a.json": boardResult("A", 10.4) });
    const { err, status } = await folder.run("compare", "a.json", "@gone.json");
    expect(status).toBe(2);
    expect(err).toContain("no such file");
  });
});
