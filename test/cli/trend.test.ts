import { afterEach, describe, expect, it } from "vitest";
import { boardResult, resultFolder } from "./resultFiles.ts";

let folder: ReturnType<typeof resultFolder>;
afterEach(() => folder.remove());

const revisions = {
  "r1.json": boardResult("A", 10.4, { firmware: "r1", written: "2025-01-10T10:00:00Z" }),
  "r2.json": boardResult("A", 10.41, { firmware: "r2", written: "2025-02-10T10:00:00Z" }),
  "r3.json": boardResult("A", 10.1, { firmware: "r3", written: "2025-03-10T10:00:00Z" }),
};

describe("codestair trend", () => {
  it("orders by date, tells the last step, and writes one page with a figure a metric", async () => {
    folder = resultFolder(revisions);
    const { out, err, status } = await folder.run("trend", "r3.json", "r1.json", "r2.json");
    expect(err).toBe("");
    expect(status).toBe(0);
    expect(out).toMatch(/^3 results, 1 metric: at the last step \(to r3\) more than the uncertainty: ENOB\./);
    expect(out).toMatch(/ENOB +10\.100 +−0\.310 +0\.042/);
    const page = folder.read("r2.trend.html");
    expect(page).toContain("From r2 to r3 it changed by −0.310 ± 0.042 bit, more than the uncertainty.");
    expect(page).toContain("Simulated data.");
  });

  it("keeps the given order on request and takes only the metrics asked for", async () => {
    folder = resultFolder(revisions);
    const { out } = await folder.run(
      "trend",
      "r3.json",
      "r1.json",
      "--as-given",
      "--metric",
      "enob",
      "--json",
      "-",
      "--no-html",
    );
    const json = JSON.parse(out);
    expect(json.points.map((p: { label: string }) => p.label)).toEqual(["r3", "r1"]);
    expect(json.series).toHaveLength(1);
    expect(json.series[0].lastStep.value).toBeCloseTo(0.3, 12);
  });

  it("refuses one result and unknown metrics, both at once", async () => {
    folder = resultFolder(revisions);
    const { err, status } = await folder.run("trend", "r1.json", "--metric", "enbo");
    expect(status).toBe(2);
    expect(err).toContain("two or more");
    expect(err).toContain('"enbo"');
  });
});
