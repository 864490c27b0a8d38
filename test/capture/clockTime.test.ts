import { expect, it } from "vitest";
import { parseClock } from "../../lib/capture/clockTime.ts";

const seconds = (text: string): number | null => {
  const clock = parseClock(text);
  return clock === null ? null : clock.whole + clock.fraction;
};

it("clock times are seconds since midnight", () => {
  expect(seconds("12:03:55.120")).toBeCloseTo(43_435.12, 9);
  expect(seconds("00:00:12.345,678")).toBeCloseTo(12.345678, 9);
  expect(seconds("[23:59:59]")).toBe(86_399);
  expect(seconds("3:05:09 PM")).toBe(15 * 3600 + 309);
  expect(seconds("12:00:01 am")).toBe(1);
});

it("dated ones are seconds since 1970", () => {
  // 2024-05-01T00:00:00Z is 1 714 521 600 s (date -u -d 2024-05-01 +%s).
  expect(seconds("2024-05-01T00:00:00Z")).toBe(1_714_521_600);
  expect(seconds("2024-05-01 00:00:01.5")).toBe(1_714_521_601.5);
  expect(seconds("01.05.2024 00:00:00")).toBe(1_714_521_600);
  expect(seconds("05/31/2024 00:00:00")).toBe(1_717_113_600);
});

it("the resolution is that of the digits", () => {
  expect(parseClock("12:03:55.120")!.resolution).toBeCloseTo(1e-3, 15);
  expect(parseClock("12:03:55")!.resolution).toBe(1);
});

it("ratios, versions and impossible hours are no clock times", () => {
  for (const text of ["12:03", "1.2.3", "25:00:00", "12:61:00", "adc:1:2", ""]) expect(seconds(text), text).toBeNull();
});
