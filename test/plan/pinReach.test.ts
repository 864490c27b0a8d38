import { describe, expect, it } from "vitest";
import { readBench } from "../../lib/bench/readBench.ts";
import { pinReach } from "../../lib/plan/pinReach.ts";

const reach = (stimulus: string, converter = "", rest = "") =>
  pinReach(
    readBench(`converter: { bits: 12, range: { high: 2.5 V }${converter} }\nstimulus: ${stimulus}\n${rest}`, "x.yaml")
      .bench!.captures[0]!,
  );

describe("pinReach", () => {
  it("adds the source's limits on both sides", () => {
    // 1.25 ± 1.2·1.005 ± 5 mV; by hand.
    const found = reach(
      "{ kind: sine, amplitude: 1.2 V, offset: 1.25 V, accuracy: { amplitude: 0.5 %, offset: 5 mV } }",
    )!;
    expect([found.low, found.high]).toEqual([expect.closeTo(0.05, 12), expect.closeTo(2.45, 12)]);
    expect(found.worstLow).toBeCloseTo(0.039, 12);
    expect(found.worstHigh).toBeCloseTo(2.461, 12);
    expect(found.isStated).toBe(false);
    expect([found.pinLow, found.pinHigh]).toEqual([-0.3, 2.8]);
    expect(found.excess).toBeLessThan(0);
  });

  it("takes the divider into account: ± 5 V through 0.25 about 1.25 V", () => {
    const found = reach(
      "{ kind: sine, amplitude: 5 V, offset: 0 V }",
      "",
      "frontEnd: { gain: 0.25, offset: 1.25 V, accuracy: 1 % }",
    )!;
    expect([found.low, found.high]).toEqual([0, 2.5]);
    // The divider's gain acts about its own offset: ± 1 % of ± 1.25 V.
    expect(found.worstHigh).toBeCloseTo(2.5125, 12);
    expect(found.worstLow).toBeCloseTo(-0.0125, 12);
  });

  it("an inverting front end swaps the ends", () => {
    const found = reach("{ kind: ramp, from: 0 V, to: 2 V }", "", "frontEnd: { gain: -1, offset: 2.5 V }")!;
    expect([found.low, found.high]).toEqual([0.5, 2.5]);
  });

  it("says by how much a stated pin limit is passed, as set and at worst", () => {
    const found = reach(
      "{ kind: steady, voltage: 3 V, accuracy: { gain: 1 %, offset: 10 mV } }",
      ", pin: { high: 2.9 V }",
    )!;
    expect(found).toMatchObject({ isStated: true, excess: expect.closeTo(0.1, 12) });
    expect(found.worstExcess).toBeCloseTo(0.14, 12);
    expect(reach("{ kind: triangle, low: -0.5 V, high: 1 V }")!.excess).toBeCloseTo(0.2, 12);
  });

  it("the reference's error is no voltage at the pin", () => {
    const found = reach("{ kind: steady, voltage: 2 V }", ", reference: { accuracy: 100 mV }")!;
    expect(found.worstHigh).toBe(2);
  });

  it("claims nothing where the stimulus does not say how far it reaches", () => {
    expect(reach("{ kind: sine, frequency: 1 kHz }")).toBeNull();
    expect(reach("{ kind: steps, column: vin }")).toBeNull();
    expect(pinReach(readBench("converter: { bits: 12, range: { high: 1 } }", "x").bench!.captures[0]!)).toBeNull();
  });
});
