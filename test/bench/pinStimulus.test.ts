import { describe, expect, it } from "vitest";
import { atPin, atSource, pinStimulus } from "../../lib/bench/pinStimulus.ts";
import { readBench } from "../../lib/bench/readBench.ts";

function spec(stimulus: object, more: object = {}) {
  const { bench, problems } = readBench(
    JSON.stringify({ title: "t", converter: { bits: 12, range: { low: "0 V", high: "2 V" } }, stimulus, ...more }),
    "t.json",
  );
  if (bench === null) throw new Error(problems.map((p) => p.found).join());
  return bench.captures[0]!;
}

const sine = {
  kind: "sine",
  frequency: "1 kHz",
  amplitude: "1 V",
  offset: "2 V",
  accuracy: { amplitude: "0.5 %", offset: "4 mV" },
};

describe("pinStimulus", () => {
  it("refers a sine through a divider, with each limit about its own pivot", () => {
    const s = spec(sine, { frontEnd: { gain: 0.5, offset: "10 mV", accuracy: "0.1 %" } });
    const pin = pinStimulus(s);
    // By hand: 0.5·1 V; 0.5·2 V + 10 mV; 0.5·4 mV.
    expect(pin).toMatchObject({ amplitude: 0.5, offset: 1.01 });
    expect(pin?.limits).toEqual([
      { from: "front-end gain", kind: "scale", halfWidth: 0.001, pivot: 0.01 },
      { from: "source amplitude", kind: "scale", halfWidth: 0.005, pivot: 1.01 },
      { from: "source offset", kind: "shift", halfWidth: 0.002 },
    ]);
  });

  it("turns a ramp round for an inverting front end", () => {
    const s = spec({ kind: "ramp", from: "0 V", to: "1 V" }, { frontEnd: { gain: -2, offset: "2 V" } });
    expect(pinStimulus(s)).toMatchObject({ from: 2, to: 0 });
  });

  it("turns the direction of steps round for an inverting front end, stated or read off the list", () => {
    const levels = [1, 2, 3].map((v) => ({ voltage: `${-v} V`, readings: 4 }));
    for (const direction of [{}, { direction: "down" }]) {
      const s = spec({ kind: "steps", levels, ...direction }, { frontEnd: { gain: -0.5 } });
      expect(pinStimulus(s)).toMatchObject({
        direction: "up",
        levels: [{ voltage: 0.5 }, { voltage: 1 }, { voltage: 1.5 }],
      });
    }
  });

  it("lets the reference's accuracy act about the bottom of the range, and drop out of a ratiometric bench", () => {
    const converter = (ratiometric: boolean) => ({
      converter: {
        bits: 12,
        range: { low: "0 V", high: "2 V" },
        reference: { measured: "2.01 V", accuracy: "2.01 mV", ratiometric },
      },
    });
    const steady = { kind: "steady", voltage: "1 V" };
    expect(pinStimulus(spec(steady, converter(false)))?.limits).toEqual([
      { from: "reference", kind: "scale", halfWidth: expect.closeTo(0.001, 12), pivot: 0 },
    ]);
    expect(pinStimulus(spec(steady, converter(true)))?.limits).toEqual([]);
  });

  it("is null where no stimulus is stated", () => {
    expect(pinStimulus({ ...spec(sine), stimulus: null })).toBeNull();
  });

  it("refers voltages to the pin and back", () => {
    const s = spec(sine, { frontEnd: { gain: 0.25, offset: "0.1 V" } });
    expect(atPin(s, 4)).toBeCloseTo(1.1, 12);
    expect(atSource(s, atPin(s, 3.3))).toBeCloseTo(3.3, 12);
  });
});
