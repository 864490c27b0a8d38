import { afterEach, describe, expect, it } from "vitest";
import { figure } from "../compare/builtResult.ts";
import { boardResult, resultFolder } from "./resultFiles.ts";

let folder: ReturnType<typeof resultFolder>;
afterEach(() => folder.remove());

const gone = { enob: figure("enob", null, null, { reason: "stimulus clips" }) };

describe("codestair regress", () => {
  // Joint uncertainty of ±0.03 and ±0.03: ±0.042.
  it.each([
    ["unchanged", boardResult("B", 10.38), [], 0, "PASS"],
    ["worse", boardResult("B", 10.2), [], 1, "FAIL"],
    ["worse, but allowed on the command line", boardResult("B", 10.2), ["--allow", "enob=0.3"], 0, "PASS"],
    ["worse, but allowed in the bench file", boardResult("B", 10.2, { allow: { enob: 0.3 } }), [], 0, "PASS"],
    ["worse, undecided whether more than allowed", boardResult("B", 10.2), ["--allow", "enob=0.2"], 3, "UNDECIDED"],
    ["vanished", boardResult("B", 0, { metrics: gone }), [], 1, "FAIL"],
  ] as const)("%s", async (_name, now, options, status, word) => {
    folder = resultFolder({ "old.json": boardResult("A", 10.4), "new.json": now });
    const said = await folder.run("regress", "old.json", "new.json", ...options);
    expect(said.err).toBe("");
    expect(said.status).toBe(status);
    expect(said.out.startsWith(word)).toBe(true);
    expect(folder.read("new.regress.html")).toContain("codestair-regression");
  });

  it("writes JUnit XML: a failure with its figures, the suite's counts", async () => {
    folder = resultFolder({
      "old.json": boardResult("A", 10.4, { metrics: { snr: figure("snr", 66, 0.5), thd: figure("thd", -70, 1) } }),
      "new.json": boardResult("B <&>", 10.1, { metrics: { snr: figure("snr", 66, 0.5) } }),
    });
    await folder.run("regress", "old.json", "new.json", "--junit", "@j.xml", "--no-html", "--quiet");
    const xml = folder.read("j.xml");
    // enob got worse, thd vanished, snr is unchanged.
    expect(xml).toContain('tests="3" failures="2" errors="0" skipped="0"');
    expect(xml).toMatch(/name="tone: enob"[^>]*><failure [^>]*message="Worse by at least /);
    expect(xml).toMatch(/name="tone: thd"[^>]*><failure [^>]*not measured/);
    expect(xml).toContain("board B &lt;&amp;&gt;");
  });

  it("writes its table as CSV", async () => {
    folder = resultFolder({ "old.json": boardResult("A", 10.4), "new.json": boardResult("B", 10.1) });
    await folder.run("regress", "old.json", "new.json", "--tables", "@tables", "--no-html", "--quiet");
    const [head = "", row = ""] = folder.read("tables/regression.csv").split("\n");
    expect(head.split(",").slice(0, 4)).toEqual(["metric", "capture", "unit", "baseline"]);
    expect(row).toMatch(/^enob,tone,bit,10\.4,/);
    expect(row).toContain(",worse,");
  });

  it("is quiet on request, and still tells by its status", async () => {
    folder = resultFolder({ "old.json": boardResult("A", 10.4), "new.json": boardResult("B", 10.1) });
    expect(await folder.run("regress", "old.json", "new.json", "-q", "--no-html")).toEqual({
      out: "",
      err: "",
      status: 1,
    });
  });

  it("gives every wrong --allow at once", async () => {
    folder = resultFolder({ "old.json": boardResult("A", 10.4), "new.json": boardResult("B", 10.1) });
    const { err, status } = await folder.run(
      "regress",
      "old.json",
      "new.json",
      "--allow",
      "enbo=0.1",
      "--allow",
      "enob=-1",
      "--allow",
      "thd",
    );
    expect(status).toBe(2);
    expect(err.trim().split("\n")).toHaveLength(3);
    expect(err).toContain("enob=0.1");
  });

  it("is unusable when a capture of the new result could not be read, and reports the rest", async () => {
    const now = {
      ...boardResult("B", 10.4),
      unreadable: [{ name: "steady", file: "steady.log", problems: ["no such file"] }],
    };
    folder = resultFolder({ "old.json": boardResult("A", 10.4), "new.json": now });
    const { out, err, status } = await folder.run("regress", "old.json", "new.json", "--no-html");
    expect(status).toBe(2);
    expect(err).toContain("steady");
    expect(out).toContain("ENOB");
  });

  it("wants two inputs", async () => {
    folder = resultFolder({ "old.json": boardResult("A", 10.4) });
    expect((await folder.run("regress", "old.json")).status).toBe(2);
  });
});
