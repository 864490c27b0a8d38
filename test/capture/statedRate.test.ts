import { expect, it } from "vitest";
import { statedRate } from "../../lib/capture/statedRate.ts";

it("reads a rate with its unit, and nothing else", () => {
  expect(statedRate("# Sampling Rate (Hz):= 1000.00")).toBe(1000);
  expect(statedRate("# Sample rate: 50 kHz")).toBe(50_000);
  expect(statedRate("fs = 2.5 kHz")).toBe(2500);
  expect(statedRate("sampling frequency 44100 Hz")).toBe(44_100);
  expect(statedRate("sample rate 1000")).toBeNull();
  expect(statedRate("cpu freq: 240 MHz")).toBeNull();
  expect(statedRate("samples 4096")).toBeNull();
});
