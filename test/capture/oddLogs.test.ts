import { describe, expect, it } from "vitest";
import { ProblemError } from "../../lib/bench/problem.ts";
import { readLog } from "../../lib/capture/readLog.ts";
import { bytesOf, skippedLines } from "./describeLog.ts";
import { SIGNALS } from "./signals.ts";

// What goes wrong on benches. The codes are known; a line that is torn or cut must be counted, never read as something else.
const codes = SIGNALS.sine!(60);
const lines = (rows: readonly (string | number)[], end = "\n"): string => rows.map((r) => r + end).join("");
const first = (text: string | Uint8Array, hints = {}) => {
  const log = readLog(bytesOf(text), hints);
  return { log, read: Array.from(log.channels[0]!.codes), skipped: skippedLines(log) };
};
const reasons = (log: ReturnType<typeof readLog>): Record<string, number> =>
  Object.fromEntries(log.skipped.map((s) => [s.reason, s.count]));

describe("cut lines", () => {
  const steady = SIGNALS.steady!(50);
  it("half a number at the start and at the end is no reading", () => {
    const { log, read } = first(`47\n${lines(steady)}20`);
    expect(read).toEqual(steady);
    expect(reasons(log)).toEqual({ "first line cut": 1, "last line cut": 1 });
  });
  it("a whole number without a line end is one", () => {
    expect(first(lines(steady).trimEnd()).read).toEqual(steady);
  });
  const padded = (v: number): string => v.toString(16).padStart(4, "0");
  it.each([
    ["marked hexadecimal", 0xb19, (v: number) => `0x${padded(v)}`, {}],
    ["hexadecimal, 0b19, that looks like a binary's", 0xb19, padded, { base: 16 }],
    ["decimal that lost a digit long after the beginning", 700, String, {}],
  ] as const)("so is the last number of a falling ramp, %s", (_, end, print, hints) => {
    const falling = Array.from({ length: 37_000 }, (_, n) => end + ((36_999 - n) >> 2));
    expect(first(falling.map(print).join("\n"), hints).read).toEqual(falling);
  });
  it("a small code at the start of a wide signal is one", () => {
    const wide = [47, ...SIGNALS.scattered!(50)];
    expect(first(lines(wide)).read).toEqual(wide);
  });
  it("half a time stamp takes its line with it", () => {
    const { read, skipped } = first(`23,2044\n${lines(codes.map((v, i) => `${100_000 + i * 20},${v}`))}10120`);
    expect(read).toEqual(codes);
    expect(skipped).toBe(2);
  });
  it("half a key is no channel", () => {
    const { read, skipped } = first(`0 = 2011\n${lines(codes.map((v) => `ADC0 = ${v}`))}ADC0 = 2`);
    expect(read).toEqual(codes);
    expect(skipped).toBe(2);
  });
});

it("a count of the lines that rolls over at 256 beside codes of 8 bits is no low byte; a ramp's low byte is", () => {
  const bits8 = Array.from({ length: 600 }, (_, n) => Math.round(128 + 90 * Math.sin(0.11 * n)));
  for (const hints of [{}, { channel: 2 }]) {
    const { log, read } = first(lines(bits8.map((v, n) => `${(n + 43) & 255},${v}`)), hints);
    expect(read).toEqual(bits8);
    expect(log.sequence?.gaps).toEqual([]);
  }
  const ramp = Array.from({ length: 600 }, (_, n) => n + 1000);
  expect(first(lines(ramp.map((v) => `${v & 255},${v >> 8}`))).read).toEqual(ramp);
});

it("lines of a channel that was not asked for are no text without a reading", () => {
  const text = lines(codes.flatMap((v, n) => [`ch1: ${v}`, `ch2: ${v + 7}`, `ch3: ${n}`]));
  const { log, read } = first(text, { channel: "ch2" });
  expect(read).toEqual(codes.map((v) => v + 7));
  expect(reasons(log)).toEqual({ "line of another channel": 2 * codes.length });
});

describe("text among the readings", () => {
  const boot = ["Booting v1.2", "115200 baud ok", "42 tests passed", "cal 4095"];
  it("start-up numbers are no readings, in the middle neither, and the restart is told", () => {
    for (const print of [(v: number) => `${v}`, (v: number) => `ADC0 = ${v}`]) {
      const { log, read, skipped } = first(
        lines([...boot, ...codes.slice(0, 30).map(print), ...boot, ...codes.slice(30).map(print)]),
      );
      expect(read).toEqual(codes);
      expect(skipped).toBe(8);
      expect(log.remarks.join()).toMatch(/line 35.*restarted/);
    }
  });
  it("lines that two tasks printed into each other are counted, not read", () => {
    const { log, read } = first(
      lines([
        ...codes.slice(0, 30).map((v) => `ADC0 = ${v}`),
        "ADC0 = 20[wifi] connected to ap",
        "47",
        ...codes.slice(30).map((v) => `ADC0 = ${v}`),
      ]),
    );
    expect(read).toEqual(codes);
    expect(reasons(log)).toEqual({ "reading run into other text": 1, "text without a reading": 1 });
    expect(log.skipped[0]!.examples).toEqual([{ line: 31, text: "ADC0 = 20[wifi] connected to ap" }]);
  });
  it("a torn row of a table is counted", () => {
    const row = (v: number, i: number): string => `${i},${i * 20},${v}`;
    const { read, skipped } = first(
      lines([
        ...codes.slice(0, 30).map(row),
        "30,600,20W (1234) wifi: off",
        "47",
        ...codes.slice(30).map((v, i) => row(v, i + 31)),
      ]),
    );
    expect(read).toEqual(codes);
    expect(skipped).toBe(2);
  });
  it("another task's keys are no channels", () => {
    const { read, skipped, log } = first(
      lines(
        codes.flatMap((v, i) =>
          i % 10 === 2 ? [`ADC0 = ${v}`, `heap: free=${200_000 + i * 17} min=150000`] : [`ADC0 = ${v}`],
        ),
      ),
    );
    expect(log.channels).toHaveLength(1);
    expect(read).toEqual(codes);
    expect(skipped).toBe(6);
  });
  it("a header that comes again is a header", () => {
    const { log, read } = first(
      lines([
        "t_ms,adc",
        ...codes.slice(0, 30).map((v, i) => `${i},${v}`),
        "t_ms,adc",
        ...codes.slice(30).map((v, i) => `${i + 30},${v}`),
      ]),
    );
    expect(read).toEqual(codes);
    expect(reasons(log)).toEqual({ header: 2 });
  });
  it("missing, unreadable, fractional and huge fields are counted by reason", () => {
    const bad: Record<number, string> = { 7: "", 17: "NaN", 27: "2047.5", 37: "99999999999" };
    const { log, read } = first(lines(["t_ms,adc", ...codes.map((v, i) => `${i},${bad[i] ?? v}`)]));
    expect(read).toEqual(codes.filter((_, i) => bad[i] === undefined));
    expect(reasons(log)).toEqual({
      header: 1,
      "empty reading": 1,
      "not a whole number": 2,
      "number outside 32 bits": 1,
    });
  });
  it("noise bytes of a pulled line are a line of their own", () => {
    const { read, skipped } = first(Uint8Array.from([0x80, 0xfe, 0x93, 0x0a, ...bytesOf(lines(codes))]));
    expect(read).toEqual(codes);
    expect(skipped).toBe(1);
  });
});

describe("bases are decided by the whole column", () => {
  it("letters that come late make all of it hexadecimal", () => {
    const digitsOnly = Array.from({ length: 20_000 }, (_, i) => 0x800 + (i % 10));
    const all = [...digitsOnly, 0x80a, 0x80b];
    expect(first(lines(all.map((v) => v.toString(16).padStart(4, "0")))).read).toEqual(all);
  });
  it("a damaged field in a decimal column stays damage, however late", () => {
    const decimal = Array.from({ length: 20_000 }, (_, i) => 2040 + (i % 20));
    const { log, read } = first(lines([...decimal, "20A4", 2047]));
    expect(read).toEqual([...decimal, 2047]);
    expect(log.skipped).toEqual([
      { reason: "not a whole number", count: 1, examples: [{ line: 20_001, text: "20A4" }] },
    ]);
  });
  it("0s and 1s are binary only in one width", () => {
    expect(first(lines(["0001", "0010", "0011", "1010"])).read).toEqual([1, 2, 3, 10]);
    expect(first(lines(["1", "0", "1", "10"])).read).toEqual([1, 0, 1, 10]);
  });
  it("a stated base is taken", () => {
    expect(first(lines(["10", "11", "12"]), { base: 16 }).read).toEqual([16, 17, 18]);
    expect(first(lines(["10", "11", "12"]), { base: 8 }).read).toEqual([8, 9, 10]);
    expect(first(lines(["10", "11", "01"]), { base: 2 }).read).toEqual([2, 3, 1]);
  });
  it("zero-padded digits without a letter are decimal, with a word on it", () => {
    const { log, read } = first(lines(["0802", "0805", "0803", "0808", "0804"]));
    expect(read).toEqual([802, 805, 803, 808, 804]);
    expect(log.remarks.join()).toMatch(/state base 16/);
    // 0809 and then 0810 cannot be hexadecimal neighbours.
    expect(first(lines(["0808", "0809", "0810", "0811", "0809"])).log.remarks).toEqual([]);
  });
  it("one reading printed in two bases is one channel", () => {
    const { log, read } = first(lines(codes.map((v) => `ADC: ${v} (0x${v.toString(16).toUpperCase()})`)));
    expect(log.channels).toHaveLength(1);
    expect(read).toEqual(codes);
  });
});

describe("time and sequence", () => {
  const end = (text: string, hints = {}): number => {
    const { log, read } = first(text, hints);
    expect(read).toEqual(codes);
    return log.time!.seconds.at(-1)!;
  };
  it("counters that roll over are unrolled: 16 bit, 32 bit, midnight", () => {
    expect(
      end(lines(["ticks,adc", ...codes.map((v, i) => `${(60_000 + i * 1000) % 65_536},${v}`)]), { tickRate: 1e6 }),
    ).toBeCloseTo(0.059, 12);
    expect(
      end(lines(["t_us,adc", ...codes.map((v, i) => `${(4_294_960_000 + i * 1000) % 2 ** 32},${v}`)])),
    ).toBeCloseTo(0.059, 12);
    const clock = (s: number): string => new Date(s * 1000).toISOString().slice(11, 19);
    expect(end(lines(codes.map((v, i) => `[${clock(86_390 + i)}] ${v}`)))).toBe(59);
  });
  it("nanoseconds since 1970 keep every digit", () => {
    const start = 1_700_000_000_123_456_789n;
    expect(end(lines(["t_ns;adc", ...codes.map((v, i) => `${start + BigInt(i) * 20_001n};${v}`)]))).toBeCloseTo(
      59 * 20_001e-9,
      14,
    );
  });
  it("the unit is the header's, the suffix's, or stated", () => {
    expect(end(lines(["Time [ms],adc", ...codes.map((v, i) => `${i},${v}`)]))).toBeCloseTo(0.059, 12);
    expect(end(lines(codes.map((v, i) => `t=${i * 20}us adc=${v}`)))).toBeCloseTo(59 * 20e-6, 12);
    expect(end(lines(codes.map((v, i) => `${1000 + i * 20},${v}`)), { timeUnit: "us" })).toBeCloseTo(59 * 20e-6, 12);
  });
  it("without a unit there is no time, and it is said", () => {
    const { log } = first(lines(codes.map((v, i) => `{"adc":${v},"t":${i * 20}}`)));
    expect(log.time).toBeNull();
    expect(log.remarks.join()).toMatch(/nothing says in which unit/);
  });
  it("sequence numbers show what is missing, their rollover left aside", () => {
    const gaps = (number: (i: number) => number) =>
      first(lines(["seq,code", ...SIGNALS.sine!(600).map((v, i) => `${number(i)},${v}`)])).log.sequence!.gaps;
    expect(gaps((i) => i % 256)).toEqual([]);
    expect(gaps((i) => (65_300 + i) % 65_536)).toEqual([]);
    expect(gaps((i) => i + (i > 20 ? 5 : 0) + (i > 40 ? 1 : 0))).toEqual([
      { at: 21, missing: 5 },
      { at: 41, missing: 1 },
    ]);
  });
});

describe("channels", () => {
  it("a scan sequence is parted by `interleave`, its time too", () => {
    const text = lines([
      "t_us,code",
      ...Array.from({ length: 90 }, (_, i) => `${i * 10},${[2000 + i, 1000 + i, 300][i % 3]}`),
    ]);
    const log = readLog(bytesOf(text), { interleave: ["adc0", "adc1", "temp"] });
    expect(log.channels.map((c) => [c.name, c.codes.length, c.codes[29]])).toEqual([
      ["adc0", 30, 2087],
      ["adc1", 30, 1088],
      ["temp", 30, 300],
    ]);
    expect(log.channels[1]!.time!.seconds[1]).toBeCloseTo(40e-6 - 0, 12);
  });
  it("tags in the line part the channels, each with its own readings", () => {
    const log = readLog(
      bytesOf(lines(codes.flatMap((v, i) => (i % 10 === 0 ? [`A0 ${v}`, `A1 ${v >> 1}`] : [`A0 ${v}`])))),
    );
    expect(log.channels.map((c) => [c.name, c.codes.length])).toEqual([
      ["A0", 60],
      ["A1", 6],
    ]);
  });
  it("two columns of one name are told apart", () => {
    const log = readLog(bytesOf(lines(["adc,adc", ...codes.map((v) => `${v},${v + 1}`)])));
    expect(log.channels.map((c) => [c.name, c.codes[0]])).toEqual([
      ["adc", codes[0]],
      ["adc.2", codes[0]! + 1],
    ]);
  });
  it("a log of volts says so and holds no codes", () => {
    const { log } = first(lines(["t_us,voltage", ...codes.map((v, i) => `${i},${((v / 4096) * 3.3).toFixed(4)}`)]));
    expect(log.channels[0]!.codes).toHaveLength(0);
    expect(log.channels[0]!.volts).toHaveLength(60);
    expect(log.remarks.join()).toMatch(/volts, not codes/);
  });
});

describe("debuggers", () => {
  it("runs that were shortened are written out", () => {
    expect(first("$1 = {2047, 2048 <repeats 12 times>, 2049}\n").read).toEqual([
      2047,
      ...new Array(12).fill(2048),
      2049,
    ]);
  });
  it("lines that a hex dump left out are put back", () => {
    const line = "ff 07 00 08 ff 07 00 08  00 08 ff 07 00 08 ff 07";
    const words = [2047, 2048, 2047, 2048, 2048, 2047, 2048, 2047];
    const { read } = first(
      `00000000  ${line}  |................|\n*\n00000030  ${line.replace("ff 07", "01 08")}  |................|\n00000040\n`,
    );
    expect(read).toEqual([...words, ...words, ...words, 2049, ...words.slice(1)]);
  });
  it("an index in brackets counts readings", () => {
    const { log, read } = first(lines(codes.map((v, i) => `buf[${i}] = ${v}`)));
    expect(log.channels).toHaveLength(1);
    expect(read).toEqual(codes);
  });
});

describe("what cannot be a log is refused with what to do", () => {
  const refused = (bytes: Uint8Array | string): string => {
    try {
      readLog(bytesOf(bytes));
    } catch (error) {
      if (error instanceof ProblemError) return error.message;
      throw error;
    }
    return "was read";
  };
  it("nothing, blank lines, prose, zeros, binary, archives, a line without end", () => {
    expect(refused("")).toMatch(/empty.*Check that the capture ran/);
    expect(refused("\n\n\n")).toMatch(/only blank lines/);
    expect(refused("hello\nworld\n")).toMatch(/no readings in 2 lines, beginning with "hello"/);
    expect(refused(new Uint8Array(1000))).toMatch(/only zero bytes/);
    expect(refused(Uint8Array.from({ length: 4096 }, (_, i) => (i * 7919) & 255))).toMatch(/binary data/);
    expect(refused("PK\u0003\u0004abcdef")).toMatch(/Export the sheet as CSV/);
    expect(refused("7".repeat(2_000_000))).toMatch(/no line end in the first 1048576 bytes/);
    expect(refused("7,".repeat(1_000_000))).toMatch(/no line end/);
    expect(refused("{".repeat(2_000_000))).toMatch(/no line end/);
  });
  it("a monstrous line in the middle is one skipped line", () => {
    const { read, log } = first(`${lines(codes)}${"x".repeat(3_000_000)}\n${lines(codes)}`);
    expect(read).toEqual([...codes, ...codes]);
    expect(reasons(log)).toEqual({ "line longer than 1048576 bytes": 1 });
    expect(log.lines).toBe(121);
  });
});

describe("stated options that the log contradicts are told", () => {
  it("a column that is not there", () => {
    const text = lines(["t_us,adc0", ...codes.map((v, i) => `${i},${v}`)]);
    expect(first(text, { time: "t_ns" }).log.remarks.join()).toMatch(/"t_ns" is not in the log.*"t_us", "adc0"/);
    expect(() => first(text, { channel: "adc7" })).toThrow(/"adc7".*"adc0"/);
  });
  it("an encoding, a header, an interleave", () => {
    expect(first(`\ufeff${lines(codes)}`, { encoding: "latin1" }).log.remarks.join()).toMatch(
      /encoding latin1 was stated/,
    );
    expect(
      first(lines(["a,b", ...codes.map((v) => `${v},${v + 1}`)]), { interleave: ["x", "y"] }).log.remarks.join(),
    ).toMatch(/interleave was stated/);
  });
});

describe("neighbours of the stated channel", () => {
  it("are read beside it where they are named as channels, and a gap in one costs no reading", () => {
    const rows = ["adc0,adc1", ...codes.map((v, i) => `${v},${i === 5 ? "" : 700 + (i % 3)}`)];
    const { read, log } = first(lines(rows), { channel: "adc0" });
    expect(read).toEqual(codes);
    expect(log.columns.get("adc1")?.length).toBe(codes.length);
    expect(log.columns.get("adc1")?.[5]).toBeNaN();
    expect(log.columns.get("adc1")?.[4]).toBe(701);
  });
});

describe("text with a number in it", () => {
  it("is refused with what a log needs", () => {
    const text = lines(["hello", "boot ok", "<script>alert(1)</script>"]);
    expect(() => first(text)).toThrow(ProblemError);
    expect(() => first(text)).toThrow(/one number in 2 lines of text.*numbers that come line by line/);
  });
});

describe("several readings a line", () => {
  it("sixteen codes of three digits are not one number in groups of three", () => {
    const codes = Array.from({ length: 348 }, (_, n) => 633 + Math.round(2 * Math.sin(n * n)));
    const rows = Array.from({ length: 22 }, (_, i) => codes.slice(16 * i, 16 * i + 16).join(" "));
    expect(first(lines(rows)).read).toEqual(codes);
  });
  it("a place in the line that rises from line to line is no time", () => {
    // A tone that comes back to nearly the same phase every 16 readings: the second place of each line rises by about 100.
    const tone = Array.from({ length: 1155 }, (_, n) =>
      Math.round(8192 + 8100 * Math.cos(3.219 + n * 2 * Math.PI * (3.0021 / 16))),
    );
    const rows = Array.from({ length: Math.ceil(tone.length / 16) }, (_, i) =>
      tone.slice(16 * i, 16 * i + 16).join(" "),
    );
    const second = rows.slice(0, 60).map((r) => Number(r.split(" ")[1]));
    expect(second.every((v, i) => i === 0 || v > second[i - 1]!)).toBe(true);
    expect(first(lines(rows)).read).toEqual(tone);
  });
});
