import { describe, expect, it } from "vitest";
import type { CaptureSpec, Converter } from "../../lib/bench/bench.ts";
import { ProblemError } from "../../lib/bench/problem.ts";
import { readBench } from "../../lib/bench/readBench.ts";
import { describeRecord } from "../../lib/capture/describeRecord.ts";
import { plainCodes } from "../../lib/capture/plainCodes.ts";
import { readLog } from "../../lib/capture/readLog.ts";
import { bytesOf } from "./describeLog.ts";

/** A capture of a 12-bit converter, with more keys of a bench file. */
function spec(keys = "", converter = ""): CaptureSpec {
  const text = `converter: { bits: 12, range: { low: 0 V, high: 4.096 V }${converter} }\ncaptures:\n  - { name: c, file: c.csv${keys} }\n`;
  const { bench, problems } = readBench(text, "bench.yaml");
  expect(problems).toEqual([]);
  return bench!.captures[0]!;
}
const log = (text: string, hints = {}) => readLog(bytesOf(text), hints);
const problemOf = (run: () => unknown): string => {
  try {
    run();
  } catch (error) {
    if (error instanceof ProblemError) return error.message;
    throw error;
  }
  return "no problem";
};

describe("describeRecord", () => {
  it("takes the only channel without being told", () => {
    const record = describeRecord(spec(), log("t_us,adc0\n0,1\n20,4095\n"));
    expect(record.channel).toBe("adc0");
    expect(Array.from(record.codes)).toEqual([1, 4095]);
    expect(record.scale.topCode).toBe(4095);
  });

  it("takes a stated channel by header, number, tag; lists the choices otherwise", () => {
    const two = log("adc0,adc1\n1,2\n3,4\n9,5\n2,8\n");
    expect(Array.from(describeRecord(spec(", channel: adc1"), two).codes)).toEqual([2, 4, 5, 8]);
    expect(Array.from(describeRecord(spec(", channel: 2"), two).codes)).toEqual([2, 4, 5, 8]);
    expect(problemOf(() => describeRecord(spec(), two))).toMatch(/2 channels; expected one of "adc0", "adc1"/);
    expect(problemOf(() => describeRecord(spec(", channel: adc9"), two))).toMatch(/"adc9".*"adc0", "adc1"/);
  });

  it("lets a code outside the declared range stand", () => {
    expect(Array.from(describeRecord(spec(), log("adc\n4096\n70000\n-3\n12\n")).codes)).toEqual([4096, 70_000, -3, 12]);
  });

  it("converts volts only on request", () => {
    const volts = "volts\n0.0005\n1.0\n2.5\n4.0955\n";
    expect(problemOf(() => describeRecord(spec(), log(volts)))).toMatch(/only volts.*fromVolts: true/);
    // Q is 1 mV and code y stands for y·Q (first transition at half an LSB).
    expect(Array.from(describeRecord(spec(", fromVolts: true"), log(volts)).codes)).toEqual([1, 1000, 2500, 4096]);
    const milli = "mv\n0.5\n1000.0\n2500.5\n";
    expect(Array.from(describeRecord(spec(", fromVolts: true"), log(milli)).codes)).toEqual([1, 1000, 2501]);
  });

  it("hands on the applied voltages of steps, at the pin", () => {
    const text = "vin,code\n0.5,250\n0.5,251\n1.5,750\n";
    const steps = spec(", stimulus: { kind: steps, column: vin }, frontEnd: { gain: 0.5 }");
    const record = describeRecord(steps, log(text, steps.reading));
    expect(Array.from(record.codes)).toEqual([250, 251, 750]);
    expect(Array.from(record.appliedVolts!)).toEqual([0.25, 0.25, 0.75]);
    const missing = spec(", stimulus: { kind: steps, column: vset }");
    expect(problemOf(() => describeRecord(missing, log(text, missing.reading)))).toMatch(/"vset".*not in the log/);
  });

  it("gives a tagged channel its own time", () => {
    const text = `${Array.from({ length: 20 }, (_, i) => `${i * 10},${i % 2},${100 + i}`).join("\n")}\n`;
    const channel = spec(', channel: "1", time: 1, timeUnit: us');
    const record = describeRecord(channel, log(`t_us,ch,code\n${text}`, channel.reading));
    expect(record.codes).toHaveLength(10);
    // Seconds since the channel's own first stamp, every second of 10 µs.
    expect(record.log.time!.seconds[1]).toBeCloseTo(20e-6, 15);
  });
});

describe("plainCodes", () => {
  const converter = (keys: Partial<Converter>): Converter => ({ ...spec().converter, ...keys });
  const plain = (words: number[], keys: Partial<Converter>): number[] =>
    Array.from(plainCodes(Int32Array.from(words), converter(keys)));
  // Two's complement of 12 bits: −2048 is code 0, 0 is 2048, 2047 is 4095.
  const ends = [0, 2047, 2048, 4095];

  it("two's complement printed signed", () =>
    expect(plain([-2048, -1, 0, 2047], { coding: "twos-complement" })).toEqual(ends));
  it("two's complement masked to 12 bits", () =>
    expect(plain([0x800, 0xfff, 0, 0x7ff], { coding: "twos-complement" })).toEqual(ends));
  it("two's complement sign-extended to 16 and 24 bits", () => {
    expect(plain([0xf800, 0xffff, 0, 0x7ff], { coding: "twos-complement" })).toEqual(ends);
    expect(plain([0xfff800, 0xffffff, 0, 0x7ff], { coding: "twos-complement" })).toEqual(ends);
  });
  it("a signed print leaves a code above the range above it", () =>
    expect(plain([-1, 2048, 3000], { coding: "twos-complement" })).toEqual([2047, 4096, 5048]));
  it("offset binary is plain", () => expect(plain([0, 4095], { coding: "offset-binary" })).toEqual([0, 4095]));
  it("left alignment, unsigned and signed", () => {
    expect(plain([0xfff0, 0x7ff0, 0], { align: "left", container: 16 })).toEqual([4095, 2047, 0]);
    expect(plain([-32768, -16, 0, 0x7ff0], { align: "left", container: 16, coding: "twos-complement" })).toEqual(ends);
    expect(plain([0x8000, 0xfff0, 0, 0x7ff0], { align: "left", container: 16, coding: "twos-complement" })).toEqual(
      ends,
    );
  });
  it("bits below a left-aligned code are told", () => {
    const remarks: string[] = [];
    plainCodes(Int32Array.of(0xfff1, 0x10), converter({ align: "left", container: 16 }), remarks);
    expect(remarks.join()).toMatch(/1 of 2 readings have bits set below/);
  });
  it("sums of two's complement codes have the middle of the sum's range", () =>
    // 16 readings shifted by 2: four times the range, −8192…8188 becomes 0…16380.
    expect(plain([-8192, 0, 8188], { coding: "twos-complement", averaging: { readings: 16, shift: 2 } })).toEqual([
      0, 8192, 16_380,
    ]));
});
