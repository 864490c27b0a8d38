import { describe, expect, it } from "vitest";
import type { FindingId } from "../../lib/match/finding.ts";
import { matchRecord } from "../../lib/match/matchRecord.ts";
import { clopperPearson } from "../../lib/signal/distributions.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { cleanCapture } from "../calibrate/cleanCaptures.ts";
import { detectionRate, FAULT_CASES } from "../calibrate/faultCases.ts";
import { converter, ramp, simulated, sine, spec, steady } from "./simulatedRecord.ts";

const READINGS = 8192;
const found = (...args: Parameters<typeof simulated>) => matchRecord(simulated(...args).record);
const ids = (...args: Parameters<typeof simulated>): FindingId[] => found(...args).findings.map((f) => f.id);

describe("false alarms", () => {
  it("no warning on clean captures of any kind", () => {
    // test/calibrate/findings.ts runs thousands; here 200 hold a bound: one alarm at most, so that the rate is below 2.8 % at 97.5 % confidence.
    const random = seededRandom(41);
    const captures = 200;
    const alarmed: string[] = [];
    for (let i = 0; i < captures; i++) {
      const clean = cleanCapture(random, 8192);
      const options = {
        readings: clean.readings,
        seed: 9000 + i,
        converterSeed: i + 1,
        time: clean.time,
        resolution: clean.resolution,
      };
      for (const finding of found(clean.spec, clean.faults, options).findings)
        if (finding.severity !== "note") alarmed.push(`${clean.what}: ${finding.id}: ${finding.text}`);
    }
    expect(alarmed.slice(1)).toEqual([]);
    expect(clopperPearson(alarmed.length, captures)[1]).toBeLessThan(0.028);
  });
});

describe("detection of one planted fault of moderate size", () => {
  // The middle size of each case, four captures each: one miss is left to chance in a case, and all together must prove 95 %.
  // What a ramp cannot tell from INL (four codes) is left to the calibration's table.
  const cases = FAULT_CASES.map((fault) => ({ ...fault, size: fault.sizes[Math.floor(fault.sizes.length / 2)]! }));
  const each = 4;
  const rates = new Map<string, number>();
  it.each(cases)("$name = $size is named $finding", (fault) => {
    const rate = detectionRate(fault, fault.size, each, 77);
    rates.set(`${fault.name} ${fault.size}`, rate);
    expect(rate).toBeGreaterThanOrEqual((each - 1) / each);
  });
  it("at least 95 % of all, with the chance of the sample allowed for", () => {
    const captures = each * rates.size;
    const found = Math.round([...rates.values()].reduce((sum, rate) => sum + rate * each, 0));
    // Lower end of the 95 % interval of Clopper and Pearson.
    expect(clopperPearson(found, captures)[0]).toBeGreaterThan(0.95);
  });
});

describe("lost readings", () => {
  it("tells where, how many, and keeps both sound stretches", () => {
    const match = found(spec(sine(997)), ["lost=3@5000"], { readings: READINGS });
    const lost = match.findings.find((f) => f.id === "readings-lost");
    expect(lost?.text).toContain("3 readings are missing");
    // Three readings of 997 Hz at 50 kHz turn the phase by 3·360°·997/50000 = 21.5°.
    expect(lost?.text).toContain("21.5°");
    expect(match.clean).toEqual([
      [0, 4999],
      [5000, READINGS - 1],
    ]);
    // The fit is that of the longest stretch, so that its remainder is that of a sound record: 0.3 LSB of noise and 1/√12.
    expect(match.fit?.residualRms).toBeLessThan(0.45);
  });
  it("finds a jump of half a turn", () => {
    const match = found(spec(sine(1000)), ["lost=25@3000"], { readings: READINGS });
    expect(match.findings.find((f) => f.id === "readings-lost")?.text).toMatch(/25 readings are missing|or 25/);
  });
  it("lists every count that a coarse ratio allows", () => {
    // At 1 kHz and 50 kHz the phase comes back every 50 readings: 3 lost look like 53 or 103.
    const match = found(spec(sine(1000)), ["lost=3@3000"], { readings: READINGS });
    expect(match.findings.find((f) => f.id === "readings-lost")?.text).toMatch(
      /3 readings are missing \(or 53, 103, 153/,
    );
  });
  it("says nothing about a loss of whole periods, which no phase can show", () => {
    expect(ids(spec(sine(1000)), ["lost=50@3000"], { readings: READINGS })).not.toContain("readings-lost");
    expect(ids(spec(sine(1000)), ["lost=50@3000"], { readings: READINGS, sequence: true })).toContain("readings-lost");
    expect(ids(spec(sine(1000)), ["lost=50@3000"], { readings: READINGS, time: true })).toContain("readings-lost");
  });
  it("finds several places", () => {
    const match = found(spec(sine(997)), ["lost=3@2000", "lost=7@4000", "lost=1@6500"], { readings: READINGS });
    expect(match.clean.length).toBe(4);
  });
  it("one upset reading is an outlier and no loss", () => {
    const seen = ids(spec(sine(997)), ["outliers=1@4000"], { readings: READINGS });
    expect(seen).toContain("outliers");
    expect(seen).not.toContain("readings-lost");
  });
});

describe("repeated readings", () => {
  it("tells a repeated block from lost readings and leaves it out", () => {
    const match = found(spec(sine(997)), ["repeated-block=64@3000"], { readings: READINGS });
    expect(match.findings.find((f) => f.id === "readings-repeated")?.readings[0]).toEqual([3000, 3063]);
    expect(match.findings.map((f) => f.id)).not.toContain("readings-lost");
    expect(match.clean).toEqual([
      [0, 2999],
      [3064, READINGS - 1],
    ]);
  });
  it("a coherent record without noise repeats itself without any fault", () => {
    const seen = ids(spec(sine((50_000 * 101) / 1024)), ["noise=0"], { readings: 4096 });
    expect(seen).not.toContain("readings-repeated");
  });
});

describe("codes that mean something else", () => {
  it.each([
    ["left-aligned=4", "left-aligned"],
    ["byte-swapped", "byte-swapped"],
    ["sign", "sign-mismatch"],
    ["wider=2", "wider-than-declared"],
    ["narrower=2", "narrower-than-declared"],
    ["stuck-low=5", "stuck-bit"],
    ["low-bits=2", "narrower-than-declared"],
  ] as const)("%s is %s alone, and nulls what it spoils", (fault, id) => {
    const findings = found(spec(sine(997)), [fault], { readings: READINGS }).findings.filter(
      (f) => f.severity !== "note",
    );
    expect(findings.map((f) => f.id)).toEqual([id]);
    expect(findings[0]?.nulls).toContain("inlMax");
    expect(findings[0]?.nulls).toContain("sinad");
  });
  it("two's complement logged where plain binary is declared, masked to the converter's bits", () => {
    const { record } = simulated(spec(sine(997)), [], { readings: READINGS });
    const masked = { ...record, codes: record.codes.map((c) => (c + 2048) & 4095) };
    expect(matchRecord(masked).findings.map((f) => f.id)).toContain("sign-mismatch");
  });
  // Codes that wrap in the middle of a large sine: its third harmonic is the strongest line, and with no rate stated nothing says where the tone should lie.
  it.each([3211, 4970, 5125])("the same at %d Hz where only time stamps tell the rate", (frequency) => {
    const { record } = simulated(spec(sine(frequency, 1.19), { sampleRate: null }), [], {
      readings: READINGS,
      time: true,
    });
    const masked = { ...record, codes: record.codes.map((c) => (c + 2048) & 4095) };
    expect(matchRecord(masked).findings.map((f) => f.id)).toContain("sign-mismatch");
  });
  it("a firmware sum without noise is no stuck bit", () => {
    const device = converter({ averaging: { readings: 16, shift: 2 } });
    expect(ids(spec(sine(997), { converter: device }), ["noise=0"], { readings: READINGS })).not.toContain(
      "narrower-than-declared",
    );
  });
});

describe("levels", () => {
  it("names the factor of two of a 50 Ω setting", () => {
    const bench = spec(sine(997, 0.5));
    const { record } = simulated(bench, ["amplitude=100"], { readings: READINGS });
    const finding = matchRecord(record).findings.find((f) => f.id === "amplitude-mismatch");
    expect(finding?.cause).toContain("50 Ω");
  });
  it("a clipped sine loses its tone figures and keeps its histogram", () => {
    const finding = found(spec(sine(997, 1.4)), [], { readings: READINGS }).findings.find((f) => f.id === "clipped");
    expect(finding?.nulls).toContain("sinad");
    expect(finding?.nulls).not.toContain("inlMax");
  });
  it("an overdriven sine that serves a histogram is no fault", () => {
    const findings = found(spec(sine(997, 1.3), { use: ["histogram"] }), [], { readings: READINGS }).findings;
    expect(findings.filter((f) => f.severity !== "note")).toEqual([]);
  });
  it("says by how much a flattened sine falls short, and fits what it would be", () => {
    const match = found(spec(sine(997)), ["clipped=90"], { readings: READINGS });
    expect(match.findings.map((f) => f.id)).toContain("clipped");
    // The stated 1.2 V of a 2.5 V range of 4096 codes; noise of 0.3 LSB over 7000 readings leaves far less than half a code.
    expect(Math.abs((match.fit?.amplitude ?? 0) - (1.2 / 2.5) * 4096)).toBeLessThan(0.5);
  });
  it("warns of a pin beyond its supply by the stated stimulus", () => {
    expect(ids(spec(sine(997, 1.7)), [], { readings: READINGS })).toContain("pin-overdriven");
  });
  it("says that a stated frequency above half the rate is aliased", () => {
    const seen = ids(spec(sine(49_003)), [], { readings: READINGS });
    expect(seen).toContain("aliased");
    expect(seen).not.toContain("frequency-mismatch");
  });
  it("says that no tone is there", () => {
    const { record } = simulated(spec(steady()), ["noise=2"], { readings: READINGS });
    const bench = spec(sine(997));
    const other = simulated(bench, [], { readings: READINGS }).record;
    const finding = matchRecord({ ...other, codes: record.codes }).findings.find((f) => f.id === "amplitude-mismatch");
    expect(finding?.text).toContain("No tone");
    expect(finding?.nulls).toContain("sinad");
  });
});

describe("odd records", () => {
  it.each([
    ["empty", new Int32Array(0)],
    ["one reading", Int32Array.of(5)],
    ["all equal", new Int32Array(100).fill(77)],
    ["all at the top", new Int32Array(100).fill(4095)],
    ["extreme words", Int32Array.from({ length: 100 }, (_, n) => (n % 2 ? 2 ** 31 - 1 : -(2 ** 31)))],
  ])("%s is matched without an exception", (_, codes) => {
    for (const bench of [spec(sine(997)), spec(ramp()), spec(steady()), spec(null)]) {
      const { record } = simulated(spec(sine(997)), [], { readings: 100 });
      const match = matchRecord({
        ...record,
        spec: bench,
        stimulus: bench.stimulus === null ? null : simulated(bench, [], { readings: 100 }).record.stimulus,
        codes,
      });
      expect(match.clean.length).toBeGreaterThan(0);
      for (const f of match.findings) expect(`${f.text}${f.cause}${f.advice}`).not.toMatch(/NaN|undefined|Infinity/);
    }
  });
});

describe("levels of the bench file's list", () => {
  const levels = Array.from({ length: 11 }, (_, i) => ({ voltage: 0.1 + 0.23 * i, readings: 100 }));
  const staircase = spec({
    kind: "steps",
    column: null,
    levels,
    direction: "up",
    accuracy: { gain: 0.001, offset: 0.001, linearity: 0, repeatability: 0 },
  });

  it("finds readings missing by levels that come before their turn, and gives no line then", () => {
    const match = found(staircase, ["lost=7@430", "noise=0.5"], { readings: 1100 });
    const lost = match.findings.find((f) => f.id === "readings-lost");
    expect(lost?.text).toContain("7 readings before their turn");
    expect(lost?.readings[0]?.[0]).toBeLessThanOrEqual(430);
    expect(lost?.readings[0]?.[1]).toBeGreaterThanOrEqual(430);
    expect(lost?.nulls).toContain("gainError");
    expect(match.findings.map((f) => f.id)).not.toContain("amplitude-mismatch");
  });

  it("says nothing of a staircase whose quiet levels happen to leave a bit alone", () => {
    // 9 levels 256 codes apart: the low eight bits are the same in all of them without any fault.
    const even = Array.from({ length: 9 }, (_, i) => ({ voltage: (2.5 / 4096) * (1027 + 256 * i), readings: 60 }));
    const quiet = spec({
      kind: "steps",
      column: null,
      levels: even,
      direction: "up",
      accuracy: { gain: 0.001, offset: 0.001, linearity: 0, repeatability: 0 },
    });
    expect(ids(quiet, ["noise=0.02"], { readings: 540 })).not.toContain("stuck-bit");
  });
});

describe("readings lost at every turn of a buffer", () => {
  it("tells that the phase is broken, and neither frequency nor hum of the one sine", () => {
    const places = Array.from({ length: 60 }, (_, i) => `lost=11@${128 * (i + 1)}`);
    const match = found(spec(sine(2113)), [...places, "noise=0.5"], { readings: READINGS });
    expect(match.findings.map((f) => f.id)).toContain("readings-lost");
    expect(match.findings.map((f) => f.id)).not.toContain("frequency-mismatch");
  });

  it("does not take upset readings for it", () => {
    const found = ids(spec(sine(2113)), ["outliers=12", "noise=0.5"], { readings: 600 });
    expect(found).toContain("outliers");
    expect(found).not.toContain("readings-lost");
  });
});
