import { describe, expect, it } from "vitest";
import { readBench } from "../../lib/bench/readBench.ts";
import { readingTime } from "../../lib/plan/readingTime.ts";
import { serialLoad } from "../../lib/plan/serialLine.ts";

const spec = (converter: string, rest = "") =>
  readBench(`converter: { bits: 12, range: { high: 2.5 V }${converter} }\n${rest}`, "x.yaml").bench!.captures[0]!;
const TIMING = ", clock: 4 MHz, sampleCycles: 24, conversionCycles: 15";

describe("readingTime", () => {
  it("takes the timing bits: 39 clocks of 4 MHz are 9.75 µs", () => {
    const found = readingTime(spec(TIMING))!;
    expect(found.conversion! * 1e6).toBeCloseTo(9.75, 9);
    expect(found.rate).toBeCloseTo(4e6 / 39, 6);
    expect(found.basis).toBe("timing");
  });

  it("prefers a stated rate and says what the loop costs", () => {
    const found = readingTime(spec(TIMING, "sampleRate: 50 kHz"))!;
    expect(found).toMatchObject({ rate: 50_000, basis: "stated", isImpossible: false });
    // 4 MHz/50 kHz = 80 clocks, 39 of them busy.
    expect(found.remarks.join()).toMatch(/80 ADC clocks.*39, so 41 are overhead/);
  });

  it("notices a rate that the timing bits do not allow", () => {
    expect(readingTime(spec(TIMING, "sampleRate: 200 kHz"))!.isImpossible).toBe(true);
    expect(readingTime(spec(TIMING, `sampleRate: ${4e6 / 39}`))!.isImpossible).toBe(false);
  });

  it("logs one code in sixteen when the firmware sums sixteen, and one in two of a scan of two", () => {
    const summed = readingTime(spec(`${TIMING}, averaging: { readings: 16, shift: 2 }`))!;
    expect(summed.rate).toBeCloseTo(4e6 / 39 / 16, 6);
    const scanned = readingTime(spec(TIMING, "scan: { order: [a, b] }"))!;
    expect(scanned.rate).toBeCloseTo(4e6 / 39 / 2, 6);
  });

  it("knows nothing without rate and bits", () => expect(readingTime(spec(""))).toBeNull());
});

describe("serialLoad", () => {
  // 115200 Bd of 10 bits a byte are 11 520 bytes/s; six bytes a line ("4095" CR LF) are 1920 readings/s; by hand.
  const link = { baud: 115_200, bytesPerLine: null, bitsPerByte: 10 };

  it("takes decimal digits and CR LF where the line is not stated", () => {
    expect(serialLoad(link, 1000, 4095)).toMatchObject({
      bytesPerLine: 6,
      isAssumed: true,
      carries: 1920,
      keepsUp: true,
    });
    expect(serialLoad({ ...link, bytesPerLine: 12 }, 1000, 4095)).toMatchObject({
      isAssumed: false,
      carries: 960,
      keepsUp: false,
    });
  });

  it("names the speed that would keep up, exactly", () => {
    const slow = serialLoad(link, 50_000, 4095);
    expect(slow.baudNeeded).toBe(3_000_000);
    expect(serialLoad({ ...link, baud: slow.baudNeeded }, 50_000, 4095).keepsUp).toBe(true);
    expect(slow.load).toBeCloseTo(50_000 / 1920, 9);
  });
});
