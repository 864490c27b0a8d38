import type { Bench, CaptureSpec } from "../bench/bench.ts";
import type { CapturePlan } from "./planCapture.ts";
import type { SettingPlan } from "./planSettings.ts";
import type { Remark } from "./remarks.ts";

/** Keys that the bench file lacks, each with what it would tell. */
export function missingKeys(
  bench: Bench,
  settings: readonly SettingPlan[],
  captures: readonly CapturePlan[],
): Remark[] {
  const remarks: Remark[] = [];
  const add = (topic: Remark["topic"], about: readonly string[], keys: string, tells: string): void => {
    remarks.push({ severity: "missing", topic, captures: about, text: `${keys} would tell ${tells}` });
  };
  const spec = (name: string): CaptureSpec | undefined => bench.captures.find((c) => c.name === name);
  for (const { captures: names, rate, settling, capacitorNoise } of settings) {
    const { timing, input } = spec(names[0]!)!.converter;
    if (rate === null)
      add(
        "timing",
        names,
        "converter.clock, sampleCycles and conversionCycles, or sampleRate,",
        "the rate, and with it frequency and times",
      );
    if (settling === null) {
      const keys = [
        ...(timing === null ? ["clock, sampleCycles, conversionCycles"] : []),
        ...(input.sourceResistance === null ? ["input.sourceResistance"] : []),
        ...(input.sampleCapacitance === null ? ["input.sampleCapacitance"] : []),
      ];
      add("settling", names, `converter: ${keys.join(", ")}`, "whether the input settles while it is sampled");
    } else if (input.switchResistance === null)
      add("settling", names, "converter.input.switchResistance", "how much longer settling takes; it was taken as 0 Ω");
    else if (capacitorNoise === null) continue;
  }
  if (bench.serial === null) add("serial", [], "serial: { baud, bytesPerLine }", "whether the serial line keeps up");
  const tones = captures.filter((capture) => capture.tone !== null);
  if (tones.length > 0 && bench.generator.step === null)
    add("tone", [], "generator: { step }", "whether the generator can be set to the coherent frequency exactly");
  const vague = bench.captures.filter(
    ({ stimulus }) => stimulus?.kind === "sine" && (stimulus.amplitude === null || stimulus.offset === null),
  );
  if (vague.length > 0)
    add(
      "pin",
      vague.map((c) => c.name),
      "stimulus.amplitude and stimulus.offset",
      "what arrives at the pin",
    );
  const impure = bench.captures.filter(
    ({ stimulus, use }) =>
      stimulus?.kind === "sine" &&
      (use === null || use.includes("tone")) &&
      stimulus.purity.thd === null &&
      stimulus.purity.snr === null,
  );
  if (impure.length > 0)
    add(
      "limits",
      impure.map((c) => c.name),
      "stimulus.purity: { thd, snr }",
      "what the source's own distortion and noise allow to be shown",
    );
  const unlimited = bench.captures.filter(({ stimulus }) => stimulus !== null && isExact(stimulus));
  if (unlimited.length > 0)
    add(
      "limits",
      unlimited.map((c) => c.name),
      "stimulus.accuracy",
      "what the source's limits leave of offset and gain; it was taken as exact",
    );
  return remarks;
}

function isExact(stimulus: NonNullable<CaptureSpec["stimulus"]>): boolean {
  return Object.values(stimulus.accuracy).every((limit) => limit === 0);
}
