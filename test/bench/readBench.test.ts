import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Bench } from "../../lib/bench/bench.ts";
import { type Problem, renderProblem } from "../../lib/bench/problem.ts";
import { readBench } from "../../lib/bench/readBench.ts";

function bench(text: string): Bench {
  const result = readBench(text, "logs/gauge.yaml");
  expect(result.problems.map(renderProblem)).toEqual([]);
  return result.bench!;
}
const problems = (text: string): Problem[] => {
  const result = readBench(text, "bench.yaml");
  expect(result.bench).toBeNull();
  return result.problems;
};
const lines = (text: string): string[] => problems(text).map(renderProblem);

const CONVERTER = "converter: { bits: 12, range: { low: 0 V, high: 2.5 V } }\n";

// The bench file of DESIGN §2, comments included.
const WHOLE = `title: River gauge logger, board A
converter:
  bits: 12
  range: { low: 0 V, high: 2.5 V }
  coding: binary             # binary | offset-binary | twos-complement
  align: right
  container: 16
  firstTransition: 0.5
  line: endpoint
  clock: 4 MHz
  sampleCycles: 24
  conversionCycles: 15
  overheadCycles: 0
  input: { sourceResistance: 4.7 k\u03a9, switchResistance: 2 k\u03a9, sampleCapacitance: 8 pF }
  pin: { low: -0.3 V, high: 2.8 V }
  reference: { measured: 2.497 V, accuracy: 2 mV, ratiometric: false }
  averaging: { readings: 16, shift: 2 }
frontEnd: { gain: 0.5, offset: 0 V, accuracy: 0.1 % }
conditions: { board: A-07, firmware: r3, temperature: 25 \u00b0C, supply: 3.30 V }
captures:
  - name: tone
    file: tone.csv
    channel: adc0
    time: t_us
    base: 10
    sampleRate: 50 kHz
    use: [tone]
    converter: { bits: 10 }
    stimulus:
      kind: sine
      frequency: 997 Hz
      amplitude: 1.2 V
      offset: 1.25 V
      accuracy: { frequency: 20 ppm, amplitude: 0.5 %, offset: 5 mV }
      purity: { thd: -70 dB, snr: 75 dB }
limits:
  enob: { min: 10.2 }
  inl: { max: 2 }
  thd: { max: -65 }
decision: guarded
`;

describe("readBench on the contract's example", () => {
  const read = bench(WHOLE);

  it("resolves the converter in SI, the measured reference as the upper end", () => {
    expect(read.converter).toEqual({
      bits: 12,
      low: 0,
      high: 2.497,
      coding: "binary",
      align: "right",
      container: 16,
      firstTransition: 0.5,
      line: "endpoint",
      timing: { clock: 4e6, sampleCycles: 24, conversionCycles: 15, overheadCycles: 0 },
      input: { sourceResistance: 4700, switchResistance: 2000, sampleCapacitance: 8e-12, apertureJitter: null },
      pin: { low: -0.3, high: 2.8, stated: true },
      reference: { nominal: 2.5, measured: 2.497, accuracy: 0.002, ratiometric: false },
      averaging: { readings: 16, shift: 2 },
    });
    expect(read.frontEnd).toEqual({ gain: 0.5, offset: 0, accuracy: 0.001 });
  });

  it("keeps conditions as they were written", () => {
    expect(read.conditions).toEqual({ board: "A-07", firmware: "r3", temperature: "25 \u00b0C", supply: "3.30 V" });
  });

  it("lays a capture's converter over the bench's, key by key", () => {
    const capture = read.captures[0]!;
    expect(capture.converter).toEqual({ ...read.converter, bits: 10 });
    expect(capture).toMatchObject({
      name: "tone",
      file: "tone.csv",
      sampleRate: 50_000,
      use: ["tone"],
      reading: { channel: "adc0", time: "t_us", base: 10 },
      scan: null,
      stimulus: {
        kind: "sine",
        frequency: 997,
        amplitude: 1.2,
        offset: 1.25,
        accuracy: { frequency: 2e-5, amplitude: 0.005, offset: 0.005 },
        purity: { thd: -70, snr: 75 },
      },
    });
  });

  it("reads limits as a map and as a list alike", () => {
    const list = bench(`${CONVERTER}limits: [{ metric: enob, min: 10.2 }, { metric: inl, max: 2 LSB, channel: 1 }]`);
    expect(list.limits).toEqual([
      { metric: "enob", min: 10.2, max: null, capture: null, channel: null },
      { metric: "inl", min: null, max: 2, capture: null, channel: "1" },
    ]);
    expect(read.limits.find((l) => l.metric === "enob")).toEqual(list.limits[0]);
  });

  it("takes the same keys as JSON", () => {
    const json = {
      title: "1.10",
      converter: { bits: 12, range: { low: 0, high: 2.5 } },
      stimulus: { kind: "steady", voltage: 1.25 },
    };
    const read = bench(JSON.stringify(json, null, "\t"));
    expect(read.captures[0]!.stimulus).toMatchObject({ kind: "steady", voltage: 1.25 });
    expect(read.title).toBe("1.10");
  });
});

describe("defaults", () => {
  it("makes one capture of a stimulus at the top level", () => {
    const read = bench(`${CONVERTER}stimulus: { kind: sine, frequency: 1 kHz }\nchannel: 2\nuse: histogram`);
    expect(read.captures).toHaveLength(1);
    expect(read.captures[0]).toMatchObject({
      name: "capture",
      file: null,
      use: ["histogram"],
      reading: { channel: 2 },
    });
    expect(read.title).toBe("gauge");
    expect(read.decision).toBe("guarded");
  });

  it("makes one capture without a stimulus where neither is given", () => {
    expect(bench(CONVERTER).captures).toMatchObject([{ name: "capture", stimulus: null, file: null }]);
  });

  it("fills in the converter's own", () => {
    expect(bench("converter: { bits: 16, range: { high: 4.096 V } }").converter).toEqual({
      bits: 16,
      low: 0,
      high: 4.096,
      coding: "binary",
      align: "right",
      container: 16,
      firstTransition: 0.5,
      line: "endpoint",
      timing: null,
      input: { sourceResistance: null, switchResistance: null, sampleCapacitance: null, apertureJitter: null },
      pin: { low: -0.3, high: 4.396, stated: false },
      reference: null,
      averaging: null,
    });
    expect(bench("converter: { bits: 18, range: { high: 1 } }").converter.container).toBe(32);
  });

  it("names captures by their files, and lets keys beside captures stand for all of them", () => {
    const read = bench(`${CONVERTER}time: t_ms\nstimulus: { kind: steady }
captures:
  - file: logs/steady-a.csv.gz
  - { file: b.txt, time: 1, stimulus: { kind: ramp, from: 0 V, to: 2.5 V } }
  - {}
`);
    expect(read.captures.map((c) => c.name)).toEqual(["steady-a", "b", "capture 3"]);
    expect(read.captures.map((c) => c.reading.time)).toEqual(["t_ms", 1, "t_ms"]);
    expect(read.captures.map((c) => c.stimulus!.kind)).toEqual(["steady", "ramp", "steady"]);
  });

  it("takes an empty section for an absent one", () => {
    expect(bench(`${CONVERTER}limits:\n  # none yet\ncaptures:\n`).limits).toEqual([]);
  });

  it("keeps a version number as it was written", () => {
    const read = bench(`title: 1.10\n${CONVERTER}conditions: { firmware: 1.10, count: 007, ok: true }`);
    expect(read.title).toBe("1.10");
    expect(read.conditions).toEqual({ firmware: "1.10", count: "007", ok: "true" });
  });
});

describe("stimuli", () => {
  const stimulus = (text: string) => bench(`${CONVERTER}stimulus: ${text}`).captures[0]!.stimulus;

  it("turns peak-to-peak and rms into a peak amplitude", () => {
    expect(stimulus("{ kind: sine, peakToPeak: 2.4 V }")).toMatchObject({ amplitude: 1.2 });
    // A sine's rms is its peak over √2.
    expect(stimulus("{ kind: sine, rms: 1 V }")).toMatchObject({ amplitude: Math.SQRT2 });
  });

  it("turns limits in volts and hertz into ratios", () => {
    expect(
      stimulus("{ kind: sine, frequency: 1 kHz, amplitude: 1 V, accuracy: { amplitude: 5 mV, frequency: 0.1 Hz } }"),
    ).toMatchObject({ accuracy: { amplitude: 0.005, frequency: 1e-4 } });
  });

  it("turns a source's distortion in % into decibels", () => {
    // 0.1 % is −60 dB (CHECKS T10).
    expect(stimulus("{ kind: sine, purity: { thd: 0.1 % } }")).toMatchObject({ purity: { thd: -60 } });
  });

  it("works out the direction of listed levels", () => {
    const level = (v: number) => `{ voltage: ${v} V, readings: 10 }`;
    const of = (volts: number[]) => stimulus(`{ kind: steps, levels: [${volts.map(level).join(", ")}] }`);
    expect(of([0, 1, 2])).toMatchObject({ direction: "up" });
    expect(of([2, 1, 0])).toMatchObject({ direction: "down" });
    expect(of([0, 1, 0])).toMatchObject({ direction: "both" });
  });

  it("hands a column of voltages to the reader too", () => {
    const capture = bench(`${CONVERTER}stimulus: { kind: steps, column: vin }`).captures[0]!;
    expect(capture.stimulus).toMatchObject({ column: "vin", levels: null });
    expect(capture.reading.stimulusColumn).toBe("vin");
  });
});

describe("problems", () => {
  it("come all at once, each with line, key, what was found and what is expected", () => {
    expect(
      lines(`converter:
  bits: 33
  range: { low: 3 V, high: 2.5 V }
  codng: binary
captures:
  - name: a
    stimulus:
      kind: sine
      frequency: 997 V
  - name: a
    stimulus: { kind: sin }
limits: { enob: { mim: 10 }, snr: 60 }
decision: guardd
`),
    ).toEqual([
      "bench.yaml:2  converter.bits: 33 is out of range; expected a whole number from 1 to 32",
      "bench.yaml:3  converter.range.high: 2.5 V does not lie above low, 3 V; expected a higher voltage than low",
      expect.stringMatching(/^bench\.yaml:4 {2}converter\.codng: unknown key; expected coding\. Known here: bits, /),
      'bench.yaml:9  captures[0].stimulus.frequency: "997 V" is a voltage; expected a frequency such as 997 Hz',
      'bench.yaml:10  captures[1].name: the name "a" is already that of capture 1; expected a name of its own',
      'bench.yaml:11  captures[1].stimulus.kind: "sin"; expected one of sine, ramp, triangle, steady, steps. Perhaps sine is meant',
      "bench.yaml:12  limits.enob.mim: unknown key; expected min. Known here: min, max, capture, channel",
      "bench.yaml:12  limits.enob: no bound is given; expected min or max, in bit",
      "bench.yaml:12  limits.snr: 60; expected a map with min or max, such as { max: 2 }",
      'bench.yaml:13  decision: "guardd"; expected one of guarded, simple. Perhaps guarded is meant',
    ]);
  });

  it.each([
    [
      "no converter",
      "title: x",
      "bench.yaml:1  converter: missing; expected a map with keys such as bits, coding, align",
    ],
    ["no range", "converter: { bits: 12 }", /converter\.range: missing/],
    [
      "bits as words",
      "converter: { bits: twelve, range: { high: 1 } }",
      /converter\.bits: "twelve" is not a quantity; expected a whole number from 1 to 32/,
    ],
    [
      "fractional bits",
      "converter: { bits: 12.5, range: { high: 1 } }",
      /converter\.bits: 12\.5 is not a whole number/,
    ],
    [
      "container too small",
      "converter: { bits: 12, container: 8, range: { high: 1 } }",
      /converter\.container: 8 bits do not hold a code of 12 bits/,
    ],
    [
      "a sum of 16 needs 16 bits",
      "converter: { bits: 12, container: 12, range: { high: 1 }, averaging: { readings: 16 } }",
      /container: 12 bits do not hold a code of 16 bits/,
    ],
    [
      "shift too far",
      "converter: { bits: 2, range: { high: 1 }, averaging: { readings: 1, shift: 8 } }",
      /averaging\.shift: a shift by 8 leaves no code/,
    ],
    [
      "part of the timing",
      "converter: { bits: 12, range: { high: 1 }, clock: 4 MHz }",
      /converter\.clock: given without sampleCycles and conversionCycles/,
    ],
    [
      "milli for mega",
      "converter: { bits: 12, range: { high: 1 }, clock: 4 mHz }",
      /converter\.clock: "4 mHz" is out of range; expected a frequency of at least 1 Hz, such as 4 MHz \(M is mega, m is milli\)/,
    ],
    [
      "pin upside down",
      "converter: { bits: 12, range: { high: 1 }, pin: { low: 2 V, high: 1 V } }",
      /converter\.pin\.high: 1 V does not lie above low, 2 V/,
    ],
    [
      "another reference",
      "converter: { bits: 12, range: { high: 2.5 V }, reference: { measured: 3.3 V } }",
      /converter\.reference\.measured: 3\.3 V is far from range\.high, 2\.5 V/,
    ],
    [
      "override upside down",
      `${CONVERTER}captures: [{ converter: { range: { high: -1 V } } }]`,
      /captures\[0\]\.converter\.range\.high: -1 V does not lie above/,
    ],
    [
      "negative frequency",
      `${CONVERTER}stimulus: { kind: sine, frequency: -5 Hz }`,
      /stimulus\.frequency: "-5 Hz" is out of range; expected a frequency above 0 Hz/,
    ],
    [
      "two amplitudes",
      `${CONVERTER}stimulus: { kind: sine, rms: 1 V, amplitude: 1 V }`,
      /stimulus\.rms: amplitude and rms are given; expected one of/,
    ],
    [
      "absolute limit of nothing",
      `${CONVERTER}stimulus: { kind: sine, accuracy: { amplitude: 5 mV } }`,
      /accuracy\.amplitude: an absolute limit without amplitude/,
    ],
    [
      "bare per cent",
      `${CONVERTER}stimulus: { kind: sine, accuracy: { amplitude: 0.5 } }`,
      /accuracy\.amplitude: 0\.5 without a unit would be 50 %; expected a ratio such as 0\.5 %/,
    ],
    [
      "positive thd",
      `${CONVERTER}stimulus: { kind: sine, purity: { thd: 70 dB } }`,
      /purity\.thd: "70 dB"; expected negative decibels/,
    ],
    ["flat ramp", `${CONVERTER}stimulus: { kind: ramp, from: 1 V, to: 1 V }`, /stimulus\.to: 1 V equals from/],
    [
      "triangle upside down",
      `${CONVERTER}stimulus: { kind: triangle, low: 1 V, high: 0 V }`,
      /stimulus\.high: 0 V does not lie above low, 1 V/,
    ],
    [
      "steps of nothing",
      `${CONVERTER}stimulus: { kind: steps }`,
      /stimulus\.levels: neither levels nor column is given/,
    ],
    ["zero gain", `${CONVERTER}frontEnd: { gain: 0 }`, /frontEnd\.gain: 0 is zero/],
    [
      "negative sample cycles",
      "converter: { bits: 12, range: { high: 1 }, clock: 4 MHz, sampleCycles: -1, conversionCycles: 15 }",
      /converter\.sampleCycles: -1 is out of range/,
    ],
    [
      "min above max",
      `${CONVERTER}limits: { enob: { min: 11, max: 10 } }`,
      /limits\.enob\.min: 11 bit lies above max, 10 bit/,
    ],
    [
      "negative magnitude",
      `${CONVERTER}limits: { inl: { max: -2 } }`,
      /limits\.inl\.max: -2 LSB is negative, but inl is bounded by its magnitude/,
    ],
    ["limit in volts", `${CONVERTER}limits: { inl: { max: 5 mV } }`, /limits\.inl\.max: "5 mV" is not in LSB/],
    [
      "limit on no capture",
      `${CONVERTER}limits: { enob: { min: 10, capture: tone } }`,
      /limits\.enob\.capture: no capture is named "tone"; expected one of capture/,
    ],
    [
      "unknown metric in a list",
      `${CONVERTER}limits: [{ metric: enb, min: 10 }]`,
      /limits\[0\]\.metric: "enb"; expected one of offsetError/,
    ],
    [
      "file beside captures",
      `${CONVERTER}file: a.csv\ncaptures: [{ file: b.csv }]`,
      /file: both file and captures are given/,
    ],
    [
      "ticks without rate",
      `${CONVERTER}timeUnit: ticks`,
      /timeUnit: ticks are given without their rate; expected tickRate/,
    ],
    [
      "captures as a map",
      `${CONVERTER}captures: { tone: {} }`,
      /captures: is a map; expected a list: the captures of the session/,
    ],
    ["no baud", `${CONVERTER}serial: { bytesPerLine: 5 }`, /serial\.baud: missing/],
  ])("%s", (_, text, expected) => {
    const found = lines(text);
    expect(found).toHaveLength(1);
    expect(found[0]).toMatch(expected);
  });

  it.each([
    ["empty", "", /the file is empty/],
    ["only a comment", "# nothing\n", /the file is empty/],
    ["a log", "2047\n2048\n", /the file holds no keys; expected .*\. A log is read with/],
    ["a list", "- 1\n- 2\n", /the file holds no keys/],
    ["a binary file", "PK\u0003\u0004", /control characters; expected a bench file in YAML or JSON, not a log/],
    ["huge", "1\n".repeat(1_500_000), /the file has 3000000 characters/],
    ["a tab", "converter:\n\tbits: 12\n", /bench\.yaml:2 {2}a tab is used for indentation/],
    ["a key twice", `${CONVERTER}title: a\ntitle: b\n`, /bench\.yaml:3 {2}title: this key is given twice/],
    ["an open bracket", "converter: { bits: 12\n", /a { or \[ above is not closed/],
    ["two documents", `${CONVERTER}---\ntitle: x\n`, /more than one document/],
    ["an alias of nothing", `${CONVERTER}title: *x\n`, /Unresolved alias|has no anchor/],
  ])("%s", (_, text, expected) => expect(lines(text).join("\n")).toMatch(expected));
});

describe("hostile files", () => {
  it("does not expand aliases of aliases without end", () => {
    const rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"];
    for (let i = 1; i < 9; i++)
      rows.push(
        `a${i}: &a${i} [${Array(10)
          .fill(`*a${i - 1}`)
          .join(", ")}]`,
      );
    expect(lines(rows.join("\n")).join("\n")).toMatch(/aliases make more than/);
  });

  it("survives an alias of its own parent", () => {
    expect(problems("converter: &c { bits: *c }").length).toBeGreaterThan(0);
  });

  it("survives nesting a hundred thousand deep", () => {
    expect(problems("[".repeat(100_000)).length).toBeGreaterThan(0);
    expect(problems("{a: ".repeat(20_000)).length).toBeGreaterThan(0);
  });

  it("refuses prototype keys and leaves the prototype alone", () => {
    for (const key of ["__proto__", "constructor", "toString"])
      expect(lines(`${CONVERTER}${key}: { bits: 1 }`)[0]).toMatch(`${key}: unknown key`);
    expect(({} as Record<string, unknown>).bits).toBeUndefined();
    expect(lines(`${CONVERTER}conditions: { __proto__: { x: 1 } }`)[0]).toMatch("conditions.__proto__: unknown key");
  });

  it("reuses maps by anchor, alias and merge key", () => {
    const read = bench(`${CONVERTER}captures:
  - name: a
    stimulus: &tone { kind: sine, frequency: 1 kHz, amplitude: 1 V }
  - { name: b, stimulus: { <<: *tone, amplitude: 0.5 V } }
  - { name: c, stimulus: *tone }
`);
    expect(read.captures.map((c) => c.stimulus)).toMatchObject([
      { frequency: 1000, amplitude: 1 },
      { frequency: 1000, amplitude: 0.5 },
      { frequency: 1000, amplitude: 1 },
    ]);
  });
});

describe("properties", () => {
  const isSound = (text: string): boolean => {
    const { bench, problems } = readBench(text, "bench.yaml");
    for (const p of problems) if (p.found === "" || p.expected === "" || (p.line !== null && p.line < 1)) return false;
    return (bench === null) === problems.length > 0;
  };

  it("any text gives a bench or problems, never an exception", () =>
    fc.assert(fc.property(fc.string({ unit: "binary", maxLength: 200 }), isSound), { numRuns: 300 }));

  it("the contract's example with any piece cut out or replaced gives a bench or problems", () =>
    fc.assert(
      fc.property(
        fc.nat(WHOLE.length),
        fc.nat(40),
        fc.constantFrom(
          "",
          "{",
          "[",
          ":",
          "- ",
          "\n",
          "&a",
          "*a",
          "'",
          "\t",
          "!!",
          "%",
          "NaN",
          "-1",
          ".inf",
          "null",
          "[]",
          "{}",
        ),
        (at, length, insert) => isSound(WHOLE.slice(0, at) + insert + WHOLE.slice(at + length)),
      ),
      { numRuns: 400 },
    ));

  it("the known keys with any values give a bench or problems", () => {
    const key = fc.constantFrom(
      ..."converter bits range low high input pin reference averaging captures stimulus kind frequency amplitude accuracy limits enob min max frontEnd gain conditions scan order use allow serial baud levels".split(
        " ",
      ),
    );
    const { tree } = fc.letrec((tie) => ({
      tree: fc.oneof(
        { maxDepth: 5 },
        fc.oneof(
          fc.integer(),
          fc.double(),
          fc.string(),
          fc.boolean(),
          fc.constant(null),
          fc.constantFrom("sine", "ramp", "1 V", "5 Hz", "steps"),
        ),
        fc.dictionary(key, tie("tree"), { maxKeys: 6 }),
        fc.array(tie("tree"), { maxLength: 3 }),
      ),
    }));
    fc.assert(
      fc.property(fc.dictionary(key, tree), (value) => isSound(JSON.stringify(value))),
      { numRuns: 400 },
    );
  });
});
