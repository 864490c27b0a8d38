import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { readLog } from "../../lib/capture/readLog.ts";

// Excerpts of logs that others recorded on real hardware; origin and licence in data/NOTICE.md. The expected figures were computed apart from this
// project, with Python's float() and int(…, 16).
const read = (name: string) => readLog(readFileSync(new URL(`./data/${name}`, import.meta.url)));
const sum = (codes: Int32Array): number => codes.reduce((a, b) => a + b, 0);

describe("logs of real boards", () => {
  it("whole numbers printed as floats under comments", () => {
    const log = read("ecg_floats.txt");
    expect(log.channels[0]!.codes).toHaveLength(36);
    expect(sum(log.channels[0]!.codes)).toBe(74_008);
    expect(log.skipped).toMatchObject([{ reason: "comment", count: 4 }]);
    expect(log.statedRate).toBe(1000);
  });

  it("JSON packets back to back with arrays of 32-bit two's complement words, torn at both ends", () => {
    const log = read("geophone_packets.txt");
    const [channel] = log.channels;
    expect(log.channels).toHaveLength(1);
    expect(channel!.name).toBe("DS");
    expect(channel!.codes).toHaveLength(200);
    expect(Array.from(channel!.codes.subarray(0, 3))).toEqual([8017, 911, -2618]);
    expect(Array.from(channel!.codes.subarray(197))).toEqual([2247, -1130, 1584]);
    expect(sum(channel!.codes)).toBe(1_343_701);
    expect(log.dialect.base).toBe(16);
    const reasons = new Map(log.skipped.map((s) => [s.reason, s.count]));
    // The tail of a packet at the start, the head of one at the end; and the packets that hold only a stamp.
    expect(reasons.get("cut record")).toBe(2);
    expect(reasons.get("record without a reading")).toBeGreaterThan(0);
  });

  it("sequence, code, volts without a header: the code is taken, the volts are not", () => {
    const log = read("battery_seq_code_volts.txt");
    expect(log.channels.map((c) => c.name)).toEqual(["column 2"]);
    expect(log.channels[0]!.codes).toHaveLength(30);
    expect(sum(log.channels[0]!.codes)).toBe(58_944);
    expect(log.sequence?.gaps).toEqual([]);
    expect(Array.from(log.sequence!.numbers.subarray(0, 2))).toEqual([626, 627]);
  });
});
