import { describe, expect, it } from "vitest";
import { describeRecord } from "../../lib/capture/describeRecord.ts";
import { readLog } from "../../lib/capture/readLog.ts";
import { readFault } from "../../lib/simulate/faults.ts";
import { simulateCapture } from "../../lib/simulate/simulateCapture.ts";
import { DIALECTS, type DialectName, logContent, SIMULATED_MARK, writeLog } from "../../lib/simulate/writeLog.ts";
import { sine, spec } from "../match/simulatedRecord.ts";

const bench = spec(sine(997), { reading: { channel: "adc0" } });
const capture = simulateCapture(bench, { readings: 400, seed: 2 });

/** Bench keys that a dialect says it needs, as the reader takes them. */
const hints = (name: DialectName) => {
  const [key, value] = DIALECTS[name].benchKeys.split(": ");
  return key === "" || key === undefined ? {} : { [key]: /^\d+$/.test(value ?? "") ? Number(value) : value };
};

describe("writeLog", () => {
  it.each(Object.keys(DIALECTS) as DialectName[])(
    "%s says that it is simulated, and reads back reading by reading",
    (name) => {
      const text = writeLog(logContent([capture], 1), name);
      expect(text.slice(0, 200)).toContain(SIMULATED_MARK);
      const log = readLog(new TextEncoder().encode(text), hints(name));
      const record = describeRecord({ ...bench, reading: {} }, log);
      expect([...record.codes]).toEqual([...capture.codes]);
    },
  );

  it.each(["csv-time", "csv-semicolon", "terminal-time"] as const)("%s keeps the time of each reading", (name) => {
    const log = readLog(new TextEncoder().encode(writeLog(logContent([capture], 1), name)), hints(name));
    expect(log.time?.seconds.length).toBe(400);
    // Stamps are written to a hundredth of a reading's period or better, 0.2 µs; times of day to 1 µs.
    for (let n = 0; n < 400; n++)
      expect(Math.abs((log.time?.seconds[n] ?? 0) - capture.seconds[n]!)).toBeLessThan(1.01e-6);
  });

  it("mixes in the lines of another task, which give no reading", () => {
    const fault = readFault("skipped-lines=10");
    if (typeof fault === "string") throw new Error(fault);
    const noisy = simulateCapture(bench, { readings: 400, seed: 2, faults: [fault] });
    const text = writeLog(logContent([noisy], 1), "csv");
    expect(text.split("\n").filter((l) => l.startsWith("radio")).length).toBeGreaterThan(20);
    const log = readLog(new TextEncoder().encode(text), {});
    expect([...(log.channels[0]?.codes ?? [])]).toEqual([...noisy.codes]);
  });
});
