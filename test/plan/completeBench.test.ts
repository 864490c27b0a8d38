import { describe, expect, it } from "vitest";
import { readBench } from "../../lib/bench/readBench.ts";
import { completeBench } from "../../lib/plan/completeBench.ts";
import { planBench } from "../../lib/plan/plan.ts";
import { proposeCaptures } from "../../lib/plan/proposeCaptures.ts";

function complete(text: string, taken: string[] = []) {
  const bench = readBench(text, "gauge.yaml").bench!;
  const proposed = proposeCaptures(bench);
  const own = proposed.length > 0 && bench.captures.every((c) => c.stimulus === null) ? [] : bench.captures;
  const planned = { ...bench, captures: [...own, ...proposed] };
  const plan = planBench(planned);
  const completed = completeBench(text, bench, planned, plan, new Set(taken));
  const again = readBench(completed.text, "gauge.yaml");
  expect(again.problems).toEqual([]);
  return { ...completed, plan, again: again.bench! };
}

const GAUGE = `# The gauge on the bench, second floor
converter: { bits: 12, range: { high: 2.5 V } }   # nominal
sampleRate: 50 kHz
generator: { step: 0.1 Hz }

captures:
  - name: tone            # the clean one
    use: [tone]
    stimulus: { kind: sine, frequency: 1 kHz, amplitude: 1.2 V, offset: 1.25 V }
  - name: all
    use: [histogram]
    stimulus:
      kind: sine
      frequency: 41 Hz
`;

describe("completeBench", () => {
  it("writes the coherent frequency, the readings and what is missing, and nothing else", () => {
    const { text, plan, again, changes } = complete(GAUGE);
    expect(again.captures[0]).toMatchObject({
      readings: plan.captures[0]!.readings,
      stimulus: { frequency: plan.captures[0]!.tone!.frequency, amplitude: 1.2, offset: 1.25 },
    });
    expect(again.captures[1]!.stimulus).toMatchObject({
      amplitude: plan.captures[1]!.overdrive!.amplitude,
      offset: 1.25,
    });
    expect(changes).toContain(`captures[0].stimulus.frequency: ${plan.captures[0]!.tone!.frequency} Hz`);
    // Comments, spacing and blank lines of untouched lines stay to the letter.
    const kept = new Set(text.split("\n"));
    for (const line of GAUGE.split("\n").filter((l) => !/frequency/.test(l))) expect(kept, line).toContain(line);
  });

  it("changes nothing the second time", () => {
    const once = complete(GAUGE);
    expect(complete(once.text).text).toBe(once.text);
  });

  it("leaves a capture alone whose log exists", () => {
    const { again, changes } = complete(GAUGE, ["tone"]);
    expect(again.captures[0]).toMatchObject({ readings: null, stimulus: { frequency: 1000 } });
    expect(changes).toContain("tone: left as it is, its log exists already");
  });

  it("adds the captures that the limits need, with everything set", () => {
    const { again } = complete(
      "converter: { bits: 12, range: { high: 2.5 V } }\nsampleRate: 50 kHz\nlimits:\n  enob: { min: 10 }\n  dnl: { max: 1 }\n  noiseRms: { max: 1 }\n",
    );
    expect(again.captures.map((c) => [c.name, c.stimulus!.kind, c.use])).toEqual([
      ["tone", "sine", ["tone"]],
      ["histogram", "sine", ["histogram"]],
      ["steady", "steady", null],
    ]);
    for (const { stimulus, readings } of again.captures) {
      expect(readings).toBeGreaterThan(0);
      if (stimulus!.kind === "sine")
        expect(stimulus).toMatchObject({ frequency: expect.any(Number), amplitude: expect.any(Number), offset: 1.25 });
    }
    expect(planBench(again).state).toBe("ready");
  });

  it("keeps JSON as JSON, a top-level stimulus where it is, and unindented lists unindented", () => {
    const json = complete(
      JSON.stringify({
        converter: { bits: 10, range: { high: 3.3 } },
        sampleRate: 1000,
        stimulus: { kind: "sine", frequency: "10 Hz" },
      }),
    );
    expect(JSON.parse(json.text).stimulus.frequency).toMatch(/Hz$/);
    const flat =
      "converter:\n  bits: 10\n  range:\n    high: 3.3 V\nsampleRate: 1 kHz\ncaptures:\n- name: a\n  stimulus:\n    kind: sine\n    frequency: 10 Hz\n";
    expect(complete(flat).text.split("\n").slice(0, 8)).toEqual(flat.split("\n").slice(0, 8));
  });

  it("does not change one capture through another's alias", () => {
    const { again } = complete(`converter: { bits: 10, range: { high: 3.3 V } }
sampleRate: 1 kHz
captures:
  - { name: a, stimulus: &tone { kind: sine, frequency: 10 Hz } }
  - { name: b, converter: { bits: 8 }, stimulus: *tone }
`);
    expect(again.captures.map((c) => c.readings)).toEqual([expect.any(Number), expect.any(Number)]);
  });
});
