import { readFileSync } from "node:fs";
import { beforeAll, describe, expect, it } from "vitest";
import { loadResult } from "../../cli/loadResult.ts";
import type { Result } from "../../lib/result.ts";
import { applyTable } from "../../lib/trim/correctionTable.ts";
import { applyFixedPoint } from "../../lib/trim/fixedPoint.ts";
import { trim } from "../../lib/trim/trim.ts";

/** The demo session of simulated boards, whose true transitions are known exactly: trim sees only the logs. */
const truth = JSON.parse(readFileSync("fixtures/boardA.truth.json", "utf8")).converters[0] as {
  lsb: number;
  firstTransition: number;
  transitions: number[];
};

let result: Result;
beforeAll(async () => {
  const io = {
    out() {},
    err() {},
    colour: false,
    progress: false,
    columns: 80,
    stdin: (async function* () {})(),
    status: 0,
  };
  result = await loadResult("fixtures/boardA.yaml", io, { quiet: true });
});

/** Largest and rms error of corrected codes against the true middle of each code; first list element is T[1]. */
function trueResidual(correct: (code: number) => number): { max: number; rms: number } {
  const { lsb, firstTransition, transitions: T } = truth;
  let max = 0;
  let squares = 0;
  for (let y = 1; y < T.length; y++) {
    const ideal = (T[y - 1]! + T[y]!) / 2 / lsb - firstTransition + 0.5;
    const error = correct(y) - Math.max(0, Math.min(T.length, ideal));
    max = Math.max(max, Math.abs(error));
    squares += error * error;
  }
  return { max, rms: Math.sqrt(squares / (T.length - 1)) };
}

describe("trim of board A of the demo session, against its true transitions", () => {
  it.each(["steps", "ramp", "histogram"])(
    "from %s: what is really left is what trim states, within its uncertainty",
    (name) => {
      const t = trim(result, { file: "boardA.yaml", capture: name, accumulator: 32, tablePoints: 33 });
      const [before, fixed, table] = [
        trueResidual((y) => y),
        trueResidual((y) => applyFixedPoint(t.fixed, y)),
        trueResidual((y) => applyTable(t.table!, y)),
      ];
      const u = t.uncertainty!.worst;
      expect(Math.abs(before.max - t.residual.before.max)).toBeLessThan(u);
      expect(Math.abs(fixed.max - t.residual.fixed.max)).toBeLessThan(u);
      expect(Math.abs(table.max - t.residual.table!.max)).toBeLessThan(u);
      // Planted: offset 1.6 LSB, gain 0.12 % (4.9 LSB at the top), a bow of 0.6 LSB, code widths of 0.03 LSB rms that walk to some 2 LSB.
      // The line takes out offset and gain, the table the bow and the slow part of the walk; rounding alone is 0.29 LSB rms.
      expect(before.rms).toBeGreaterThan(4);
      expect(fixed.rms).toBeLessThan(1);
      expect(table.rms).toBeLessThan(0.4);
    },
  );
});
