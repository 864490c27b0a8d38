import Papa from "papaparse";
import { describe, expect, it } from "vitest";
import { codePlace } from "../../reports/codePlace.ts";
import { renderJunit } from "../../reports/junit.ts";
import { renderMarkdown } from "../../reports/markdown.ts";
import { renderTables } from "../../reports/tables.ts";
import { csvLine, markdownLine } from "../../reports/tableText.ts";
import { renderTerminal } from "../../reports/terminal.ts";
import { terminalTable, width } from "../../reports/terminalTable.ts";
import { HOSTILE, type SampleName, sampleSession } from "./sampleSession.ts";

const NAMES: SampleName[] = ["good", "failing", "undecided", "broken", "sixty", "hostile", "unreadable", "unjudged"];
const terminal = (name: SampleName, colour = false): string =>
  renderTerminal(sampleSession(name), { colour, columns: 80, reportPath: "boardA.report.html" });

describe("renderTerminal", () => {
  it.each(NAMES)("keeps the %s session within 80 columns", (name) => {
    const lines = terminal(name).split("\n");
    const long = lines.filter((l) => width(l) > 80);
    expect(long).toEqual([]);
  });

  it("opens with the verdict as a word and ends with the place of the report", () => {
    const lines = terminal("failing").trimEnd().split("\n");
    expect(lines[0]).toBe("FAIL  River gauge logger, board A: 1 of 3 limits is not met: INL.");
    expect(lines.at(-1)).toBe("Report: boardA.report.html");
  });

  it("says what would decide, what was not measured and why, and what to do", () => {
    expect(terminal("undecided")).toContain("About 110\u202f000 readings");
    expect(terminal("broken")).toContain("31 % of the readings stand at the end codes.");
    expect(terminal("failing")).toContain("→ Log with a running number, or lower the sampling rate.");
    expect(terminal("unreadable")).toContain("no line of 412 holds a number");
    expect(terminal("failing")).toContain("Simulated data");
  });

  it("uses colour only beside words, and loses nothing without it", () => {
    // biome-ignore lint/complexity/useRegexLiterals: the escape is clearer spelt out
    const bare = terminal("failing", true).replace(new RegExp("\\u001b\\[\\d+m", "g"), "");
    expect(terminal("failing", true)).not.toBe(bare);
    expect(bare).toBe(terminal("failing"));
  });

  it("lets no log drive the terminal", () => {
    const text = renderTerminal(
      { ...sampleSession("sixty"), bench: { ...sampleSession("sixty").bench, title: "a\u001b[2Jb\rc" } },
      { colour: false, columns: 80, reportPath: null },
    );
    expect(text).not.toContain("\u001b");
    expect(text).not.toContain("\r");
  });
});

describe("terminalTable", () => {
  it("puts decimal points below each other", () => {
    const lines = terminalTable(
      [
        { head: "metric", align: "left" },
        { head: "value", align: "point" },
      ],
      [
        ["a", "10.412"],
        ["bb", "−0.3"],
        ["c", "1833"],
        ["d", "≤ 0.21"],
      ],
    );
    const points = lines.slice(1).map((l) => l.indexOf(".") + (l.includes(".") ? 0 : l.length + 1));
    expect(new Set(points).size).toBe(1);
    expect(lines[0]).toMatch(/^metric +value$/);
  });
});

describe("renderMarkdown", () => {
  it("carries verdict, limits, figures, findings and hashes", () => {
    const text = renderMarkdown(sampleSession("failing"), { version: "0.0.0", written: null });
    for (const part of [
      "**Fail.**",
      "| \\|INL\\| | 2.70 ±",
      "readings-lost",
      "9f86d081",
      "Simulated data",
      "IEEE Std 1241",
    ])
      expect(text).toContain(part);
  });

  it("keeps hostile text from becoming markup: every sign that Markdown knows is escaped", () => {
    const text = renderMarkdown(sampleSession("hostile"), { version: "0.0.0", written: null });
    expect(text).not.toMatch(/(?<!\\)<img/);
    expect(text).not.toMatch(/(?<!\\)\[link(?<!\\)\]\(/);
    expect(text).not.toContain("\u202e");
  });

  it("gives every row of a table as many cells as its head", () => {
    const lines = renderMarkdown(sampleSession("hostile"), { version: "0.0.0", written: null }).split("\n");
    const cells = (l: string): number => l.replace(/\\\|/g, "").split("|").length;
    lines.forEach((line, i) => {
      if (line.startsWith("| ---"))
        for (let k = i + 1; lines[k]?.startsWith("|"); k++) expect(cells(lines[k]!)).toBe(cells(line));
    });
  });
});

describe("renderTables", () => {
  it("writes CSV that papaparse reads back, every row as wide as its head", () => {
    for (const name of ["failing", "hostile"] as const)
      for (const [file, chunks] of renderTables(sampleSession(name))) {
        const parsed = Papa.parse<string[]>([...chunks].join(""), { skipEmptyLines: true });
        expect(parsed.errors).toEqual([]);
        const wide = parsed.data[0]!.length;
        expect(parsed.data.every((r) => r.length === wide)).toBe(true);
        expect(parsed.data.length).toBeGreaterThan(1);
        expect(file).toMatch(/^[\p{L}\p{N}._-]+\.csv$/u);
      }
  });

  it("leaves untested codes empty, never zero", () => {
    const files = renderTables(sampleSession("failing"));
    const inl = Papa.parse<string[]>([...files.get("ramp.inl.csv")!].join(""), { skipEmptyLines: true }).data;
    expect(inl[4000]).toEqual(["4000", "", ""]);
    expect(Number(inl[2048]![1])).toBeGreaterThan(2);
    expect(inl).toHaveLength(1 + 4095);
  });

  it("gives codes with the volts they stand for", () => {
    const s = sampleSession("failing");
    const rows = Papa.parse<string[]>([...renderTables(s).get("tone.codes.csv")!].join(""), {
      skipEmptyLines: true,
    }).data;
    expect(rows).toHaveLength(1 + 16_384);
    // V(y) = low + (y + firstTransition − ½)·Q (DESIGN §4), Q = 2.5 V/4096.
    const [n, time, code, volts] = rows[101]!.map(Number);
    expect([n, time]).toEqual([100, 0.002]);
    expect(volts).toBeCloseTo((code! * 2.5) / 4096, 9);
  });
});

describe("csvLine", () => {
  it("disarms what a spreadsheet would run, and leaves numbers alone", () => {
    expect(csvLine(["=1+1", "@cmd", "-5", "−5.2", "+0.12", 'a"b', "1\u202f024"])).toBe(
      '\'=1+1,\'@cmd,-5,-5.2,+0.12,"a""b",1024\n',
    );
  });
  it("leaves what is not a number empty", () => expect(csvLine([Number.NaN, null, 0])).toBe(",,0\n"));
});

describe("markdownLine", () => {
  it("keeps a bar inside its cell", () => expect(markdownLine(["a|b", "c\nd"])).toBe("| a\\|b | c d |\n"));
});

describe("renderJunit", () => {
  const suite = {
    suite: `r3 against r2 ${HOSTILE}`,
    cases: [
      { name: "tone enob", decision: "pass", message: "", details: "10.41 against 10.40" },
      { name: "tone thd", decision: "fail", message: "worse by 3.1 dB", details: `${HOSTILE}\u0000\ud800` },
      { name: "ramp inl", decision: "undecided", message: "±0.2 LSB", details: "" },
      { name: "crosstalk", decision: "not measured", message: "no capture", details: "" },
    ],
  } as const;

  it("counts failures and skipped cases, and never passes what was not shown", () => {
    const text = renderJunit(suite);
    expect(text).toContain('tests="4" failures="1" errors="0" skipped="2"');
    expect(text.match(/<skipped /g)).toHaveLength(2);
    expect(text.match(/<failure /g)).toHaveLength(1);
  });

  it("holds no character that XML 1.0 forbids, and no markup of the text", () => {
    const text = renderJunit(suite);
    // Source: W3C, Extensible Markup Language (XML) 1.0, fifth edition, 2.2, production Char.
    expect(text).not.toMatch(/[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/u);
    expect(text).not.toContain("<img");
    const tags = [...text.matchAll(/<(\/?)([a-z-]+)[^>]*?(\/?)>/g)].filter((t) => !t[3]);
    const open: string[] = [];
    for (const [, end, name] of tags) {
      if (end === "/") expect(open.pop()).toBe(name);
      else open.push(name!);
    }
    expect(open).toEqual([]);
  });
});

describe("codePlace", () => {
  it("names the bits that change at a transition", () => {
    expect(codePlace(2048, 12)).toBe("where the top bit changes");
    expect(codePlace(1024, 12)).toBe("where the second bit from the top changes");
    expect(codePlace(3072, 12)).toBe("where the second bit from the top changes");
    expect(codePlace(512, 12)).toBe("where the third bit from the top changes");
    expect(codePlace(2049, 12)).toBeNull();
  });
  it("says nothing where the code is no plain binary word", () => expect(codePlace(100, 12.58)).toBeNull());
});
