import { describe, expect, it } from "vitest";
import { scaleOf } from "../../lib/bench/scale.ts";
import type { MatchedRecord } from "../../lib/match/matched.ts";
import { stepsVisits } from "../../lib/measure/stepsVisits.ts";

const scale = scaleOf({ bits: 12, low: 0, high: 4.096, firstTransition: 0.5 });

function record(options: {
  levels?: [number, number][];
  direction?: "up" | "down" | "both";
  column?: number[];
  readings: number;
  clean?: [number, number][];
}): MatchedRecord {
  const { levels, direction = "up", column, readings, clean = [[0, readings - 1]] } = options;
  return {
    codes: new Int32Array(readings),
    scale,
    clean,
    appliedVolts: column ? Float64Array.from(column) : null,
    stimulus: { kind: "steps", levels: levels?.map(([voltage, n]) => ({ voltage, readings: n })) ?? null, direction },
  } as unknown as MatchedRecord;
}
const brief = (r: MatchedRecord) => stepsVisits(r).map((v) => [v.applied, v.first, v.last, v.direction]);

describe("stepsVisits", () => {
  it("counts a list off", () => {
    expect(
      brief(
        record({
          levels: [
            [1, 2],
            [2, 3],
          ],
          readings: 5,
        }),
      ),
    ).toEqual([
      [1, 0, 1, "up"],
      [2, 2, 4, "up"],
    ]);
  });
  it("walks a rising list backwards when the direction is down, and leaves a falling one", () => {
    const down = [
      [2, 0, 2, "down"],
      [1, 3, 4, "down"],
    ];
    expect(
      brief(
        record({
          levels: [
            [1, 2],
            [2, 3],
          ],
          direction: "down",
          readings: 5,
        }),
      ),
    ).toEqual(down);
    expect(
      brief(
        record({
          levels: [
            [2, 3],
            [1, 2],
          ],
          direction: "down",
          readings: 5,
        }),
      ),
    ).toEqual(down);
  });
  it("walks up and down for both, the turning level once or twice by the record's length, or as listed", () => {
    const levels: [number, number][] = [
      [1, 2],
      [2, 2],
      [3, 2],
    ];
    expect(brief(record({ levels, direction: "both", readings: 10 })).map((v) => v[0])).toEqual([1, 2, 3, 2, 1]);
    const twice = brief(record({ levels, direction: "both", readings: 12 }));
    expect(twice.map((v) => v[0])).toEqual([1, 2, 3, 2, 1]);
    expect(twice[2]).toEqual([3, 4, 7, "up"]);
    expect(brief(record({ levels: [...levels, [2, 2]], direction: "both", readings: 8 })).map((v) => v[3])).toEqual([
      "up",
      "up",
      "up",
      "down",
    ]);
  });
  it("ends a list with the record", () => {
    expect(
      brief(
        record({
          levels: [
            [1, 4],
            [2, 4],
          ],
          readings: 5,
        }),
      ),
    ).toEqual([
      [1, 0, 3, "up"],
      [2, 4, 4, "up"],
    ]);
  });
  it("finds levels in a column, a voltmeter's flicker and gaps included", () => {
    // One LSB is 1 mV: 20 µV of flicker is no step, a blank is no level.
    const column = [1, 1.00002, 1, 2, 2, Number.NaN, 2, 1.5];
    expect(brief(record({ column, readings: 8 })).map(([v, a, b, d]) => [+(v as number).toFixed(3), a, b, d])).toEqual([
      [1, 0, 2, "up"],
      [2, 3, 4, "up"],
      [2, 6, 6, "down"],
      [1.5, 7, 7, "down"],
    ]);
  });
  it("keeps the longest clean part of a visit", () => {
    expect(
      brief(
        record({
          levels: [
            [1, 10],
            [2, 10],
          ],
          readings: 20,
          clean: [
            [0, 2],
            [5, 19],
          ],
        }),
      ),
    ).toEqual([
      [1, 5, 9, "up"],
      [2, 10, 19, "up"],
    ]);
  });
  it("has nothing to say without levels or column", () => {
    expect(stepsVisits(record({ readings: 5 }))).toEqual([]);
  });
});
