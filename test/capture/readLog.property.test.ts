import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readLog } from "../../lib/capture/readLog.ts";
import { bytesOf, outcome, skippedLines } from "./describeLog.ts";
import { DIALECT_CASES } from "./dialects.ts";
import { SIGNALS } from "./signals.ts";

// The same on every run, so that a build does not turn red by chance; FC_SEED tries others.
const seed = Number(process.env.FC_SEED ?? 1);

const text = (s: string): Uint8Array => new TextEncoder().encode(s);

/** Things that happen to logs: bytes lost, added, doubled. */
const edit = fc.record({
  at: fc.nat(),
  kind: fc.constantFrom("insert", "delete", "replace", "double"),
  bytes: fc.oneof(
    fc.uint8Array({ maxLength: 6 }),
    fc
      .constantFrom(
        "\r",
        "\n",
        ",",
        ";",
        "\t",
        "-",
        "0x",
        '"',
        "{",
        "}",
        "[",
        ".",
        "e",
        "F",
        "#",
        "=",
        ":",
        " ",
        "\u001b[0m",
        "ADC0 = 5\n",
        "x",
      )
      .map(text),
  ),
});

const damagedLog = fc.record({
  dialect: fc.constantFrom(...DIALECT_CASES.keys()),
  signal: fc.constantFrom(...Object.keys(SIGNALS)),
  readings: fc.integer({ min: 1, max: 200 }),
  edits: fc.array(edit, { maxLength: 5 }),
});

function damaged(log: typeof damagedLog extends fc.Arbitrary<infer T> ? T : never): Uint8Array {
  const dialect = DIALECT_CASES[log.dialect]!;
  const bits = dialect.unsignedBits;
  const codes = SIGNALS[log.signal]!(log.readings).map((v) => (bits === undefined ? v : Math.abs(v) % 2 ** bits));
  const bytes = Array.from(bytesOf(dialect.write(codes)));
  for (const { at, kind, bytes: put } of log.edits) {
    const place = bytes.length === 0 ? 0 : at % bytes.length;
    if (kind === "double") bytes.splice(place, 0, ...bytes.slice(place, place + 40));
    else bytes.splice(place, kind === "insert" ? 0 : put.length || 1, ...(kind === "delete" ? [] : put));
  }
  return Uint8Array.from(bytes);
}

const cuts = fc.array(fc.nat({ max: 6000 }), { maxLength: 8 });

describe("properties of the log reader", () => {
  it("how the bytes are cut into pieces makes no difference", () => {
    fc.assert(
      fc.property(damagedLog, cuts, (log, at) => {
        const bytes = damaged(log);
        expect(outcome(bytes, at)).toBe(outcome(bytes));
      }),
      { numRuns: 100, seed },
    );
  });

  it("the fast scanner and the general way read the same", () => {
    fc.assert(
      fc.property(damagedLog, (log) => {
        const bytes = damaged(log);
        expect(outcome(bytes)).toBe(outcome(bytes, [], { withoutFastScan: true }));
      }),
      { numRuns: 200, seed },
    );
  });

  it("any bytes end in a log or in a clear error, however they are cut", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), cuts, (bytes, at) => {
        expect(outcome(bytes, at)).toBe(outcome(bytes));
      }),
      { numRuns: 300, seed },
    );
  });

  it("any text of a log's characters ends in a log or in a clear error, with every line accounted for", () => {
    const characters = [...'0123456789abcdefx,;\t .-+=:[]{}"\r\nADC#%|\u0000*<>'];
    fc.assert(
      fc.property(fc.string({ unit: fc.constantFrom(...characters), maxLength: 300 }), cuts, (s, at) => {
        const bytes = text(s);
        const whole = outcome(bytes);
        expect(outcome(bytes, at)).toBe(whole);
        expect(outcome(bytes, [], { withoutFastScan: true })).toBe(whole);
        if (whole.startsWith("problem")) return;
        const log = readLog(bytes);
        expect(skippedLines(log)).toBeLessThan(log.lines);
        const readings = log.channels.reduce((n, c) => n + c.codes.length + (c.volts?.length ?? 0), 0);
        expect(readings).toBeGreaterThan(0);
      }),
      { numRuns: 300, seed },
    );
  });

  it("any table of codes reads back, in any of the plain dialects", () => {
    // Codes that wander as a converter's do, anywhere in 16 bits: which dialects can be told apart needs 40 readings of them.
    const walk = fc
      .record({
        start: fc.integer({ min: 0, max: 65_535 }),
        steps: fc.array(fc.integer({ min: -900, max: 900 }), { minLength: 60, maxLength: 200 }),
      })
      .map(({ start, steps }) => {
        let v = start;
        return steps.map((s) => {
          // Turned back at the ends, so that it never rests there.
          v += v + s < 0 || v + s > 65_535 ? -s : s;
          return v;
        });
      });
    const plain = DIALECT_CASES.filter((d) => !d.byCourse && (d.unsignedBits ?? 32) >= 16);
    fc.assert(
      fc.property(fc.constantFrom(...plain), walk, (dialect, codes) => {
        fc.pre(codes.length >= (dialect.fewest ?? 1));
        const log = readLog(bytesOf(dialect.write(codes)));
        const main = log.channels.find((c) => dialect.channel === undefined || c.name === dialect.channel);
        expect(Array.from(main?.codes ?? []), `${dialect.name}: ${log.dialect.sentence}`).toEqual(codes);
      }),
      { numRuns: 400, seed },
    );
  });
});
