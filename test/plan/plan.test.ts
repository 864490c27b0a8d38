import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Bench } from "../../lib/bench/bench.ts";
import { readBench } from "../../lib/bench/readBench.ts";
import { type Plan, planBench } from "../../lib/plan/plan.ts";
import { renderPlanText } from "../../reports/planText.ts";

const read = (text: string): Bench => {
  const { bench, problems } = readBench(text, "gauge.yaml");
  expect(problems).toEqual([]);
  return bench!;
};
const texts = (plan: Plan, severity: string): string =>
  plan.remarks
    .filter((r) => r.severity === severity)
    .map((r) => r.text)
    .join("\n");

const GAUGE = `converter:
  bits: 12
  range: { low: 0 V, high: 2.5 V }
  clock: 4 MHz
  sampleCycles: 24
  conversionCycles: 15
  input: { sourceResistance: 4.7 k, switchResistance: 2 k, sampleCapacitance: 8 pF }
generator: { step: 0.1 Hz }
`;
const TONE =
  "stimulus: { kind: sine, frequency: 997 Hz, amplitude: 1.2 V, offset: 1.25 V, accuracy: { amplitude: 0.2 % }, purity: { thd: -85 dB, snr: 85 dB } }\n";

describe("planBench", () => {
  it("finds nothing wrong with the river gauge's tone", () => {
    const plan = planBench(
      read(`${GAUGE}${TONE}use: tone\nserial: { baud: 2 MBd, bytesPerLine: 1 }\nlimits: { enob: { min: 10.2 } }`),
    );
    expect(plan.state).toBe("ready");
    const [capture] = plan.captures;
    expect(capture!.tone).toMatchObject({ distinctPhases: capture!.readings, isChosen: false });
    expect(Math.abs(capture!.tone!.residualCycles)).toBeLessThan(1e-6);
    // 0.05 bit takes about 1600 readings; the usual 4096 cover it.
    expect(plan.limits[0]!.readings).toBeGreaterThan(1500);
    expect(plan.limits[0]!.readings).toBeLessThan(1700);
    expect(capture!.readings).toBeGreaterThanOrEqual(4096);
  });

  it.each([
    [
      "a source too weak to settle the input",
      GAUGE.replace("4.7 k", "200 k") + TONE,
      /settles to ½ LSB in .* take at least \d+ sampling clocks, or at most 81\.2 kΩ of source resistance/,
    ],
    [
      "a pin beyond its limits",
      GAUGE + TONE.replace("1.2 V", "1.8 V"),
      /beyond −300 mV to 2\.8 V \(the range and 0\.3 V beyond, common practice; the part's data sheet decides\); a source that drives a pin beyond its supply/,
    ],
    [
      "a rate that the bits do not allow",
      `${GAUGE}${TONE}sampleRate: 1 MHz`,
      /1 MHz is faster than the timing bits allow/,
    ],
    [
      "a serial line that is too slow",
      `${GAUGE}${TONE}serial: { baud: 115200 }`,
      /collect the record in memory and send it afterwards/,
    ],
    [
      "kT/C noise above the limit",
      `${GAUGE.replace("8 pF", "0.01 pF")}${TONE}limits: { enob: { min: 11.9 } }`,
      /kT\/C noise of .* alone leaves 1\d\.\d\d bit/,
    ],
    [
      "jitter above the limit",
      `${GAUGE.replace("8 pF", "8 pF, apertureJitter: 10 us")}${TONE}limits: { enob: { min: 10.2 } }`,
      /10 µs of jitter leave \d\.\d\d bit/,
    ],
  ])("calls %s trouble", (_, text, expected) => {
    const plan = planBench(read(text));
    expect(plan.state).toBe("trouble");
    expect(texts(plan, "trouble")).toMatch(expected);
  });

  it("warns when only the source's limits at their worst pass the pin", () => {
    const plan = planBench(read(GAUGE + TONE.replace("1.2 V", "1.548 V").replace("0.2 %", "1 %")));
    expect(texts(plan, "caution")).toMatch(/at their worst the pin may see/);
    expect(plan.state).not.toBe("trouble");
  });

  it("calls a limit undecidable that no capture or no such source can show", () => {
    const none = planBench(read(`${GAUGE}${TONE}use: tone\nlimits: { dnl: { max: 1 }, noiseRms: { max: 1 } }`));
    expect(none.state).toBe("undecidable");
    expect(texts(none, "undecidable")).toMatch(/dnl ≤ 1 LSB: no capture shows it: add an overdriven sine/);
    expect(texts(none, "undecidable")).toMatch(/noiseRms ≤ 1 LSB: no capture shows it: add one with a steady voltage/);
    const impure = planBench(read(`${GAUGE}${TONE.replace("-85 dB", "-60 dB")}limits: { thd: { max: -65 } }`));
    expect(texts(impure, "undecidable")).toMatch(
      /thd ≤ −65 dBc: the source's own distortion of −60\.0 dBc is not below/,
    );
  });

  it("says so when the capture that a limit names cannot show it, and when only a scan could", () => {
    const named = planBench(read(`${GAUGE}${TONE}use: tone\nlimits: [{ metric: dnl, max: 1, capture: capture }]`));
    expect(texts(named, "undecidable")).toMatch(/capture capture, which the limit names, does not show it/);
    const lone = planBench(read(`${GAUGE}${TONE}limits: { crosstalk: { max: -60 } }`));
    expect(texts(lone, "undecidable")).toMatch(/log two channels of a scan/);
    const scanned = planBench(read(`${GAUGE}${TONE}scan: { order: [a, b] }\nlimits: { crosstalk: { max: -60 } }`));
    expect(texts(scanned, "undecidable")).toBe("");
  });

  it("lets the capture with the better source judge", () => {
    const plan = planBench(
      read(`${GAUGE}sampleRate: 50 kHz
captures:
  - { name: sine, use: histogram, stimulus: { kind: sine, frequency: 41 Hz, amplitude: 1.28 V, offset: 1.25 V, accuracy: { amplitude: 0.2 %, offset: 2 mV } } }
  - { name: steps, stimulus: { kind: steps, column: vin, accuracy: { gain: 0.05 %, offset: 0.5 mV } } }
limits: { offsetError: { max: 8 }, dnl: { max: 1 }, inl: { max: 2, capture: sine } }`),
    );
    expect(Object.fromEntries(plan.limits.map((l) => [l.metric, l.capture]))).toEqual({
      offsetError: "steps",
      dnl: "sine",
      inl: "sine",
    });
  });

  it("plans the overdriven sine past both ends, allowing for the source's limits", () => {
    const plan = planBench(
      read(
        `${GAUGE}use: histogram\nstimulus: { kind: sine, frequency: 41 Hz, amplitude: 1.25 V, offset: 1.25 V, accuracy: { amplitude: 0.2 %, offset: 2 mV } }`,
      ),
      { noise: 0.5, tolerance: 0.1 },
    );
    const { overdrive } = plan.captures[0]!;
    // σ√(3/(2β)) = 0.5·√15 = 1.936 LSB of 0.610 mV; (1.25 + 0.00118 + 0.002)/0.998 = 1.2557, up to three digits; by hand.
    expect(overdrive!.overdrive).toBeCloseTo(1.9365, 4);
    expect(overdrive).toMatchObject({ amplitude: 1.26, offset: 1.25, isReached: false, isSafe: true });
    expect(texts(plan, "caution")).toMatch(/the outer codes will not be tested; set 1\.26 V about 1\.25 V/);
  });

  it("names the keys that would tell more", () => {
    const missing = texts(
      planBench(read("converter: { bits: 12, range: { high: 2.5 V } }\nstimulus: { kind: sine, frequency: 1 kHz }")),
      "missing",
    );
    for (const key of [
      "sampleRate",
      "clock, sampleCycles, conversionCycles",
      "sampleCapacitance",
      "serial",
      "stimulus.amplitude",
      "purity",
      "accuracy",
    ])
      expect(missing).toContain(key);
  });

  it("plans settings apart when captures change the converter", () => {
    const plan = planBench(
      read(
        `${GAUGE}captures:\n  - { name: slow, stimulus: { kind: steady, voltage: 1 V } }\n  - { name: fast, converter: { sampleCycles: 1 }, stimulus: { kind: steady, voltage: 1 V } }\n`,
      ),
    );
    expect(plan.settings.map((s) => s.captures)).toEqual([["slow"], ["fast"]]);
    expect(plan.settings.map((s) => s.settling!.settles)).toEqual([true, false]);
    expect(plan.remarks.find((r) => r.topic === "settling" && r.severity === "trouble")!.captures).toEqual(["fast"]);
  });

  it("never puts a number that is none into the plan, whatever sensible bench it gets", () =>
    fc.assert(
      fc.property(
        fc.constantFrom("sine", "ramp", "triangle", "steady", "steps"),
        fc.integer({ min: 1, max: 24 }),
        fc.constantFrom(
          "",
          "sampleRate: 1 kHz\n",
          "serial: { baud: 9600 }\n",
          "frontEnd: { gain: -0.5, offset: 1 V, accuracy: 0.1 % }\n",
          "scan: { order: [a, b, c] }\n",
        ),
        fc.constantFrom(
          "",
          "limits: { enob: { min: 1 }, thd: { max: -10 } }\n",
          "limits: { inl: { max: 1 }, dnl: { max: 0 }, gainError: { max: 0.01 } }\n",
          "limits: { noiseRms: { max: 0.01 }, drift: { max: 1 }, hysteresis: { max: 1 } }\n",
        ),
        fc.constantFrom("tone", "histogram", "noise"),
        (kind, bits, rest, limits, use) => {
          const stimulus = {
            sine: "frequency: 10 Hz, amplitude: 1 V",
            ramp: "from: 0 V, to: 1 V",
            triangle: "low: 0 V, high: 1 V",
            steady: "voltage: 1 V",
            steps: "levels: [{ voltage: 0 V, readings: 3 }]",
          }[kind];
          const bench = read(
            `converter: { bits: ${bits}, range: { high: 2.5 V } }\n${rest}${limits}use: ${use}\nstimulus: { kind: ${kind}, ${stimulus} }\n`,
          );
          const plan = planBench(bench);
          // JSON turns NaN and infinities into null; a plan that survives the round trip has none.
          expect(JSON.parse(JSON.stringify(plan))).toEqual(plan);
          const text = renderPlanText(plan);
          expect(text).not.toMatch(/NaN|Infinity|undefined|null/);
          for (const line of text.split("\n")) expect(line.length).toBeLessThanOrEqual(100);
        },
      ),
      { numRuns: 150 },
    ));
});
