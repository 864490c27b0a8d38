import { describe, expect, it } from "vitest";
import { readLog } from "../../lib/capture/readLog.ts";
import { bytesOf, skippedLines } from "./describeLog.ts";
import { DIALECT_CASES } from "./dialects.ts";
import { SIGNALS } from "./signals.ts";

// The codes are known beforehand: each dialect's writer prints them, the reader must give them back with no word about how they were printed.
describe("readLog finds out by itself how a log is written", () => {
  for (const dialect of DIALECT_CASES) {
    it(dialect.name, () => {
      for (const [signal, make] of Object.entries(SIGNALS)) {
        if (dialect.not?.includes(signal)) continue;
        for (const n of [5, 40, 333]) {
          if (n < (dialect.fewest ?? 1)) continue;
          // The long ones by four signals are enough for the suite's time.
          if (n === 333 && !["sine", "steady", "scattered", "signed"].includes(signal)) continue;
          const codes = make(n);
          const bits = dialect.unsignedBits;
          if (bits !== undefined && codes.some((v) => v < 0 || v >= 2 ** bits)) continue;
          const log = readLog(bytesOf(dialect.write(codes)));
          const where = `${signal}, ${n} readings: ${log.dialect.sentence}`;
          const others = Object.entries(dialect.others ?? {});
          expect(log.channels, where).toHaveLength(1 + others.length);
          const main = log.channels.find((c) => dialect.channel === undefined || c.name === dialect.channel);
          expect(Array.from(main?.codes ?? []), where).toEqual(codes);
          for (const [name, of] of others) {
            const channel = log.channels.find((c) => c.name === name);
            expect(Array.from(channel?.codes ?? []), `${name}; ${where}`).toEqual(codes.map((v, i) => of(v, i)));
          }
          if ((dialect.skipped ?? 0) >= 0) expect(skippedLines(log), where).toBe(dialect.skipped ?? 0);
          if (dialect.time) expect(log.time ?? log.channels[0]?.time, where).not.toBeNull();
        }
      }
    });
  }

  it("keeps to the dialect of the beginning over a long log", () => {
    // Beyond the sample of 64 KiB the reader works block by block.
    for (const name of [
      "one code a line",
      "csv, time in µs",
      "ADC0 = code",
      "bare hexadecimal, padded",
      "JSON lines",
    ]) {
      const codes = SIGNALS.sine!(30_000);
      const log = readLog(bytesOf(DIALECT_CASES.find((d) => d.name === name)!.write(codes)));
      expect(Array.from(log.channels[0]!.codes), name).toEqual(codes);
    }
  });
});
