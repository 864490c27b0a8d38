import { describe, expect, it } from "vitest";
import { channelsDiffer } from "../../lib/compare/channelsDiffer.ts";
import { compare } from "../../lib/compare/compare.ts";
import { INDEPENDENT } from "../../lib/compare/difference.ts";
import { pairCaptures } from "../../lib/compare/pairCaptures.ts";
import type { ResultFigure } from "../../lib/result.ts";
import { capture, converter, figure, result } from "./builtResult.ts";

const row = (c: ReturnType<typeof compare>, metric: string) => c!.others[0]!.metrics.find((m) => m.metric === metric)!;
const board = (name: string, metrics: Record<string, ResultFigure>, more = {}) => ({
  name: `${name}.json`,
  result: result([capture("tone", { metrics, ...more })], { title: `River gauge logger, ${name}` }),
});

describe("compare two boards", () => {
  it("says of each metric whether it is better, worse, moved or unchanged", () => {
    const c = compare(
      [
        board("boardA", {
          enob: figure("enob", 10.1, 0.03),
          thd: figure("thd", -70, 1),
          offsetError: figure("offsetError", 3, 0.1),
          snr: figure("snr", 65, 1),
        }),
        board("boardB", {
          enob: figure("enob", 10.6, 0.03),
          thd: figure("thd", -66, 1),
          offsetError: figure("offsetError", -3, 0.1),
          snr: figure("snr", 65.5, 1),
        }),
      ],
      INDEPENDENT,
    );
    expect(row(c, "enob")).toMatchObject({ change: "better" });
    expect(row(c, "thd").change).toBe("worse");
    expect(row(c, "offsetError").change).toBe("changed");
    expect(row(c, "snr").change).toBe("within uncertainty");
    expect(c!.answer).toContain("boardB is better in ENOB +0.500 ± 0.042 bit, but worse in THD +4.0 ± 1.4 dBc");
  });

  it("compares in volts where the LSB differ, and keeps the LSB beside them", () => {
    const c = compare(
      [
        board("ten", { noiseRms: figure("noiseRms", 0.5, 0.02) }, { converter: converter({ bits: 10 }) }),
        board("twelve", { noiseRms: figure("noiseRms", 0.9, 0.03) }, { converter: converter({ bits: 12 }) }),
      ],
      INDEPENDENT,
    );
    // 10 bits of 4.096 V: 4 mV an LSB, 2 mV rms; 12 bits: 1 mV, 0.9 mV rms. In LSB the noise grew, in volts it fell.
    const noise = row(c, "noiseRms");
    expect(noise.unit).toBe("V");
    expect(noise.difference.value).toBeCloseTo(-1.1e-3, 12);
    expect(noise.difference.uncertainty).toBeCloseTo(Math.hypot(0.08e-3, 0.03e-3), 9);
    expect(noise.change).toBe("better");
    expect(noise.inLsb!.second!.value).toBe(0.9);
  });

  it("does not compare what is defined differently", () => {
    const c = compare(
      [
        board("a", { inlMax: figure("inlMax", 1, 0.1) }),
        board("b", { inlMax: figure("inlMax", 3, 0.1) }, { converter: converter({ line: "best-fit" }) }),
      ],
      INDEPENDENT,
    );
    expect(row(c, "inlMax")).toMatchObject({ change: "not comparable" });
    expect(row(c, "inlMax").note).toContain("best-fit");
  });

  it("does not take codes that stand still behind a wide LSB for less noise", () => {
    const c = compare(
      [
        board("twelve", { codeRms: figure("codeRms", 0.7, 0.02) }, { converter: converter({ bits: 12 }) }),
        board("eight", { codeRms: figure("codeRms", 0, 0.01) }, { converter: converter({ bits: 8 }) }),
      ],
      INDEPENDENT,
    );
    expect(row(c, "codeRms").change).toBe("not comparable");
    expect(row(c, "codeRms").note).toContain("a wide code hides the noise");
  });

  it("keeps the reason of a metric that one side could not measure", () => {
    const c = compare(
      [
        board("a", { enob: figure("enob", 10, 0.1) }),
        board("b", { enob: figure("enob", null, null, { reason: "stimulus clips" }) }),
      ],
      INDEPENDENT,
    );
    expect(row(c, "enob").change).toBe("not comparable");
    expect(row(c, "enob").note).toContain("stimulus clips");
  });

  it("says how the source's limits were taken", () => {
    const limits = { "source offset": 0.5, reference: 0.2 };
    const inputs = [
      board("a", { offsetError: figure("offsetError", 1, 0.7, { limits }) }),
      board("b", { offsetError: figure("offsetError", 2, 0.7, { limits }) }),
    ];
    expect(compare(inputs, INDEPENDENT)!.correlation).toContain("--same-source, --same-board");
    expect(compare(inputs, { source: true, board: false })!.correlation).toContain(
      "source offset taken as one and the same error",
    );
    expect(compare([board("a", {}), board("b", {})], INDEPENDENT)!.correlation).toBeNull();
  });

  it("warns of another tone", () => {
    const c = compare(
      [
        board("a", { enob: figure("enob", 10, 0.1) }),
        board("b", { enob: figure("enob", 9, 0.1) }, { stimulus: { kind: "sine", frequency: 5000, amplitude: 2 } }),
      ],
      INDEPENDENT,
    );
    expect(row(c, "enob").note).toContain("The tones differ");
  });
});

describe("which setting, and is it worth it", () => {
  const setting = (bits: number, readingTime: number, noise: number, more: Record<string, ResultFigure> = {}) =>
    capture(`noise-${bits}`, {
      converter: converter({ bits, readingTime }),
      stimulus: { kind: "steady", voltage: 1 },
      metrics: { noiseRms: figure("noiseRms", noise, 0.02 * noise), ...more },
    });

  it("finds the settings of one bench file and names them by what differs", () => {
    const c = compare(
      [{ name: "settings.yaml", result: result([setting(10, 5e-6, 0.5), setting(12, 20e-6, 0.5)]) }],
      INDEPENDENT,
    )!;
    expect(c.reference.label).toBe("10 bit");
    expect(c.others[0]!.column.label).toBe("12 bit");
    expect(c.others[0]!.column.detail).toContain("20 µs a reading");
  });

  // 12 bits at a quarter of the rate: averaging 4 readings would bring 0.5·log2 4 = 1 bit.
  it.each([
    // 0.5 LSB of 4 mV against 0.5 of 1 mV: 2 bits gained, more than 1.
    [0.5, "worth it where that is enough, since averaging 4 readings"],
    // 2 mV against 1.6 mV: 0.32 bits gained.
    [1.6, "hardly worth it for resolution"],
    // 2 mV against 1 mV: 1 bit gained.
    [1.0, "about even for resolution"],
  ])("weighs the gain against averaging in the same time: noise %s LSB", (noise, said) => {
    const c = compare(
      [{ name: "s.yaml", result: result([setting(10, 5e-6, 0.5), setting(12, 20e-6, noise)]) }],
      INDEPENDENT,
    )!;
    expect(c.answer).toContain(said);
    expect(c.answer).toContain("25 % of the rate (50 kHz against 200 kHz)");
  });

  it("says when the better one costs nothing, and when the cost is not known", () => {
    const at = (t: number | null, noise: number) =>
      result([{ ...setting(12, 1, noise), converter: converter({ readingTime: t }) }]);
    const told = (a: number | null, b: number | null) =>
      compare(
        [
          { name: "a.json", result: at(a, 1) },
          { name: "b.json", result: at(b, 0.5) },
        ],
        INDEPENDENT,
      )!.answer;
    expect(told(1e-5, 1e-5)).toContain("at the same rate (100 kHz by the converter's timing), so it costs nothing");
    expect(told(1e-5, 5e-6)).toContain("faster as well");
    expect(told(null, null)).toContain("not known");
  });

  it("says when nothing differs", () => {
    const one = { name: "a.json", result: result([setting(12, 1e-5, 0.5)]) };
    expect(compare([one, { ...one, name: "b.json" }], INDEPENDENT)!.answer).toMatch(
      /^No difference between a and b is larger/,
    );
  });

  it("ranks three", () => {
    const at = (name: string, noise: number) => ({ name, result: result([setting(12, 1e-5, noise)]) });
    const c = compare([at("a.json", 1), at("b.json", 0.8), at("c.json", 2)], INDEPENDENT)!;
    expect(c.answer).toMatch(/^b is better than a/);
    expect(c.answer).toContain("c: worse in rms noise");
  });

  it("has nothing to compare in a single capture", () => {
    expect(compare([{ name: "a.json", result: result([setting(12, 1e-5, 1)]) }], INDEPENDENT)).toBeNull();
  });

  it("compares repeated captures of one setting", () => {
    const one = setting(12, 1e-5, 1);
    const c = compare(
      [
        {
          name: "a.json",
          result: result([
            { ...one, name: "cold" },
            { ...one, name: "warm" },
          ]),
        },
      ],
      INDEPENDENT,
    )!;
    expect([c.reference.label, c.others[0]!.column.label]).toEqual(["cold", "warm"]);
  });
});

describe("pairCaptures", () => {
  const kind = (name: string, k: string, channel = "adc0") => capture(name, { channel, stimulus: { kind: k } });
  it("pairs by name, then by kind and channel, then a lone kind", () => {
    const p = pairCaptures(
      [kind("tone", "sine"), kind("quiet", "steady"), kind("ramp", "ramp", "adc0"), kind("levels", "steps")],
      [kind("noise", "steady"), kind("tone", "sine"), kind("ramp2", "ramp", "adc1")],
    );
    expect(p.pairs.map((x) => [x.first.name, x.second.name])).toEqual([
      ["tone", "tone"],
      ["quiet", "noise"],
      ["ramp", "ramp2"],
    ]);
    expect(p.onlyFirst.map((c) => c.name)).toEqual(["levels"]);
  });
  it("does not pair a name that now means another stimulus", () => {
    const p = pairCaptures([kind("a", "sine")], [kind("a", "steady")]);
    expect(p.pairs).toEqual([]);
  });
});

describe("channelsDiffer", () => {
  it.each([
    ["adc0", "adc1", true],
    ["ADC0", "adc0", false],
    ["adc 1", "ADC_1", false],
    ["code", "adc0", false],
    ["", "1", false],
    ["1", "2", true],
    ["vin", "current", false],
  ])("%s and %s: %s", (a, b, differ) => expect(channelsDiffer(a, b)).toBe(differ));
});
