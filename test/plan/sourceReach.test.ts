import { describe, expect, it } from "vitest";
import { readBench } from "../../lib/bench/readBench.ts";
import { sourceReach } from "../../lib/plan/sourceReach.ts";

const reach = (limit: string, stimulus: string, converter = "") => {
  const { bench } = readBench(
    `converter: { bits: 12, range: { high: 4.096 V }${converter} }\nstimulus: ${stimulus}\nlimits: { ${limit} }`,
    "x.yaml",
  );
  return sourceReach(bench!.limits[0]!, bench!.captures[0]!);
};
const STEPS = "kind: steps, levels: [{ voltage: 0 V, readings: 9 }, { voltage: 4 V, readings: 9 }]";

describe("sourceReach of static limits (1 LSB is 1 mV)", () => {
  it("a source's offset goes to offset whole: 95 % of its ± limit when it is alone", () => {
    expect(reach("offsetError: { max: 20 }", `{ ${STEPS}, accuracy: { offset: 2 mV } }`)).toMatchObject({
      shows: "yes",
      halfWidth: expect.closeTo(0.95 * 2, 6),
    });
  });

  it("a sine's amplitude acts about its own offset: 0.1 % of 2 V is 2 LSB at 0 V", () => {
    const sine = "{ kind: sine, amplitude: 2 V, offset: 2 V, accuracy: { amplitude: 0.1 % } }";
    expect(reach("offsetError: { max: 20 }", sine)!.halfWidth).toBeCloseTo(0.95 * 2, 6);
    expect(reach("gainError: { max: 1 }", sine)!.halfWidth).toBeCloseTo(0.95 * 0.1, 6);
    expect(reach("inl: { max: 1 }", sine)).toBeNull();
  });

  it("says when not even a perfect converter could pass, and when only a good one", () => {
    const steps = `{ ${STEPS}, accuracy: { gain: 0.5 % } }`;
    expect(reach("gainError: { max: 0.4 }", steps)).toMatchObject({
      shows: "no",
      text: expect.stringMatching(/not even by a perfect converter/),
    });
    expect(reach("gainError: { max: 1 }", steps)).toMatchObject({
      shows: "narrow",
      text: expect.stringMatching(/only a converter within/),
    });
    expect(reach("gainError: { max: 5 }", steps)).toMatchObject({ shows: "yes" });
  });

  it("a source's own curvature goes straight into INL", () => {
    // 500 ppm of a 4 V span are 2 mV.
    expect(reach("inl: { max: 1 }", `{ ${STEPS}, accuracy: { linearity: 500 ppm } }`)).toMatchObject({
      shows: "no",
      halfWidth: expect.closeTo(1.9, 6),
    });
  });

  it("a reference counts unless the bench is ratiometric", () => {
    const steps = `{ ${STEPS} }`;
    expect(reach("gainError: { max: 1 }", steps, ", reference: { accuracy: 4.096 mV }")!.halfWidth).toBeCloseTo(
      0.095,
      6,
    );
    expect(reach("gainError: { max: 1 }", steps, ", reference: { accuracy: 4.096 mV, ratiometric: true }")).toBeNull();
  });
});

describe("sourceReach of tone limits", () => {
  const sine = (purity: string) => `{ kind: sine, amplitude: 2 V, offset: 2 V, purity: { ${purity} } }`;

  it("a source of 62 dB cannot show 10.2 bit", () => {
    // 62 dB is 10.0 bit (CHECKS Q2); with 74.0 dB of quantisation 61.73 dB, 9.96 bit; by hand.
    expect(reach("enob: { min: 10.2 }", sine("snr: 62 dB"))).toMatchObject({
      shows: "no",
      text: expect.stringMatching(/9\.96 bit/),
    });
    expect(reach("enob: { min: 10.2 }", sine("snr: 90 dB"))).toMatchObject({ shows: "yes" });
    expect(reach("enob: { min: 11.3 }", sine("snr: 73 dB"))).toMatchObject({ shows: "narrow" });
  });

  it("distortion no better than the limit decides nothing, 15 dB better does", () => {
    expect(reach("thd: { max: -65 }", sine("thd: -60 dB"))).toMatchObject({ shows: "no" });
    expect(reach("thd: { max: -65 }", sine("thd: -70 dB"))).toMatchObject({ shows: "narrow" });
    // Amplitudes add: a converter at −66.7 dBc and a source at −80 dBc in phase make −65 dBc; by hand.
    expect(reach("thd: { max: -65 }", sine("thd: -80 dB"))).toMatchObject({
      shows: "yes",
      text: expect.stringMatching(/−66\.7 dBc/),
    });
    expect(reach("sfdr: { min: 65 }", sine("thd: -60 dB"))).toMatchObject({ shows: "no" });
  });

  it("a purity that is not stated claims nothing", () => {
    expect(reach("enob: { min: 10 }", sine(""))).toBeNull();
    expect(reach("snr: { min: 60 }", sine("thd: -80 dB"))).toBeNull();
  });
});
