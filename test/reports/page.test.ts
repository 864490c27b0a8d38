import { createHash } from "node:crypto";
import { describe, expect, it } from "vitest";
import { FINDING_IDS, type Finding } from "../../lib/match/finding.ts";
import { renderPage } from "../../reports/page.ts";
import { type SampleName, sampleSession } from "./sampleSession.ts";

const options = { version: "0.0.0", written: "2026-03-02T10:11:12Z", result: { schema: "codestair-result/1" } };
const page = (name: SampleName): string => renderPage(sampleSession(name), options);

describe("renderPage", () => {
  it("allows its own script and style by hash and nothing else", () => {
    const text = page("failing");
    const policy = /http-equiv="Content-Security-Policy" content="([^"]+)"/.exec(text)![1]!.replaceAll("&#39;", "'");
    const hash = (t: string): string => `'sha256-${createHash("sha256").update(t, "utf8").digest("base64")}'`;
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain(`script-src ${hash(/<script>([\s\S]*?)<\/script>/.exec(text)![1]!)};`);
    expect(policy).toContain(`style-src ${hash(/<style>([\s\S]*?)<\/style>/.exec(text)![1]!)};`);
    expect(policy).not.toContain("unsafe");
  });

  it("names no address outside itself", () => {
    // Namespaces of SVG are names, not addresses: nothing fetches them.
    const text = page("failing").replaceAll("http://www.w3.org/2000/svg", "");
    expect(text).not.toMatch(/(?:src|href)="(?!#|data:,)/);
    expect(text).not.toMatch(/https?:\/\//);
    expect(text).not.toMatch(/@import|url\((?!#)/);
  });

  it("answers the questions in the order a person asks them", () => {
    const heads = [...page("failing").matchAll(/<h2 id="[^"]*-heading">([^<]+)</g)].map((m) => m[1]);
    expect(heads).toEqual([
      "Is the log sound?",
      "Does it show the stimulus?",
      "How far off, and how straight?",
      "How clean?",
      "How quiet?",
      "How was it measured?",
    ]);
  });

  it("says what decides, what is open and what would decide it", () => {
    expect(page("failing")).toContain("INL is 2.70 ±\u00a00.15\u00a0LSB (ramp), and the limit asks for at most 2 LSB");
    expect(page("failing")).toContain("even its lower end, 2.55 LSB, lies outside");
    expect(page("undecided")).toContain("About 110\u202f000 readings");
    expect(page("undecided")).toContain("Needs a capture with a tone on a neighbouring channel.");
  });

  it("has a sentence about this capture at every figure", () => {
    const captions = [...page("failing").matchAll(/<figcaption>([\s\S]*?)<\/figcaption>/g)].map((m) => m[1]!);
    expect(captions.length).toBeGreaterThan(12);
    for (const caption of captions) expect(caption).toMatch(/\d/);
    expect(new Set(captions).size).toBe(captions.length);
    expect(captions.some((c) => c.includes("at code 2048, where the top bit changes"))).toBe(true);
  });

  it("gives the reason of every figure that was not measured", () => {
    const text = page("broken");
    expect(text).toContain("31 % of the readings stand at the end codes");
    const read = text.replace(/<script[\s\S]*?<\/script>/g, "");
    expect(read).not.toMatch(/\b(?:NaN|undefined|null|Infinity)\b/);
  });

  it("shows every finding, also where nothing of its question was measured", () => {
    const session = sampleSession("good");
    const findings: Finding[] = FINDING_IDS.map((id) => ({
      id,
      severity: "warning",
      text: `Seen: ${id}.`,
      cause: "",
      advice: "",
      readings: [],
      nulls: [],
    }));
    const captures = session.captures.slice(0, 1).map((c) => ({ ...c, figures: {}, curves: {}, findings }));
    const text = renderPage({ ...session, captures }, options);
    for (const id of FINDING_IDS) expect(text).toContain(`Seen: ${id}.`);
  });

  it("sets the source's own distortion against the result", () => {
    expect(page("failing")).toContain("The source&#39;s own distortion is stated as THD of −72.0 dBc.");
  });

  it("carries the result as JSON, the hashes, and the mark of simulated data", () => {
    const text = page("good");
    expect(text).toContain(
      '<script type="application/json" id="codestair-result">{"schema":"codestair-result/1"}</script>',
    );
    expect(text).toContain("9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08");
    expect(text).toContain("<strong>Simulated data.</strong>");
  });

  it("is the same, byte for byte, for the same session", () => expect(page("good")).toBe(page("good")));
});
