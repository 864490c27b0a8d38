import type { Bench } from "../bench/bench.ts";
import type { Ohms } from "../bench/units.ts";
import { say } from "../match/say.ts";
import type { LimitPlan } from "./limitPlan.ts";
import { missingKeys } from "./missingKeys.ts";
import type { CapturePlan } from "./planCapture.ts";
import type { SettingPlan } from "./planSettings.ts";

/** Something to do or to know before the capture. */
export interface Remark {
  /** trouble: will not work as set; undecidable: a limit cannot be decided; caution: think of it; missing: a key would tell more. */
  readonly severity: "trouble" | "undecidable" | "caution" | "missing";
  readonly topic: "timing" | "settling" | "noise" | "serial" | "pin" | "tone" | "histogram" | "limits";
  /** Captures it is about; empty: the bench. */
  readonly captures: readonly string[];
  readonly text: string;
}

/** All remarks of a plan, most pressing first within each topic's own order. */
export function remarksOf(
  bench: Bench,
  settings: readonly SettingPlan[],
  captures: readonly CapturePlan[],
  limits: readonly LimitPlan[],
): Remark[] {
  const remarks = [
    ...captures.flatMap(pinRemarks),
    ...settings.flatMap((setting) => settingRemarks(setting, bench)),
    ...captures.flatMap(captureRemarks),
    ...limits.flatMap(limitRemarks),
    ...missingKeys(bench, settings, captures),
  ];
  const order = ["trouble", "undecidable", "caution", "missing"] as const;
  return order.flatMap((severity) => remarks.filter((remark) => remark.severity === severity));
}

/** A setting that lies on the limit is within it; the rounding of a sum is not beyond it. Volts. */
const ROUNDING = 1e-9;

function pinRemarks({ name, pin }: CapturePlan): Remark[] {
  if (pin === null) return [];
  const survives = `${say.volts(pin.pinLow)} to ${say.volts(pin.pinHigh)}${pin.isStated ? "" : " (the range and 0.3 V beyond, common practice; the part's data sheet decides)"}`;
  const about = { topic: "pin", captures: [name] } as const;
  const danger =
    "a source that drives a pin beyond its supply injects current through the protection diodes: lower it, or limit its current, before connecting it";
  if (pin.excess > ROUNDING)
    return [
      {
        ...about,
        severity: "trouble",
        text: `the source reaches ${say.volts(pin.low)} to ${say.volts(pin.high)} at the pin, ${say.volts(pin.excess)} beyond ${survives}; ${danger}`,
      },
    ];
  if (pin.worstExcess > ROUNDING)
    return [
      {
        ...about,
        severity: "caution",
        text: `with the source's limits at their worst the pin may see ${say.volts(pin.worstLow)} to ${say.volts(pin.worstHigh)}, ${say.volts(pin.worstExcess)} beyond ${survives}; ${danger}`,
      },
    ];
  return [];
}

function settingRemarks({ captures, rate, settling, capacitorNoise, serial }: SettingPlan, bench: Bench): Remark[] {
  const remarks: Remark[] = [];
  const add = (severity: Remark["severity"], topic: Remark["topic"], text: string): void => {
    remarks.push({ severity, topic, captures, text });
  };
  if (rate?.isImpossible)
    add(
      "trouble",
      "timing",
      `a sample rate of ${say.hertz(rate.rate)} is faster than the timing bits allow, ${say.hertz(rate.fastest as number)}; clock, cycles or rate are not as stated`,
    );
  if (rate?.isUneven)
    add(
      "caution",
      "timing",
      "a channel's readings come in bursts, not evenly spaced: a histogram is sound, a tone is not; take one reading at each visit for tones",
    );
  if (settling !== null && !settling.settles) {
    const most = rate?.mostSampleCycles ?? null;
    const room =
      most === null || settling.fewestCycles <= most ? "" : ` (the rate leaves room for ${Math.max(0, most)} only)`;
    const lower =
      settling.mostSourceResistance > 0
        ? `or at most ${ohms(settling.mostSourceResistance)} of source resistance`
        : "and no source resistance is low enough for the clocks there are";
    add(
      "trouble",
      "settling",
      `the input settles to ½ LSB in ${say.seconds(settling.needed)} but is sampled for ${say.seconds(settling.available)}: up to ${say.lsb(settling.left)} of a full-scale step are left; take at least ${settling.fewestCycles} sampling clocks${room}, ${lower}`,
    );
  }
  const wanted = bench.limits.find(({ metric, min }) => metric === "enob" && min !== null)?.min;
  if (capacitorNoise !== null && wanted !== undefined && wanted !== null && capacitorNoise.bits < wanted)
    add(
      "trouble",
      "noise",
      `kT/C noise of ${say.volts(capacitorNoise.volts)} alone leaves ${capacitorNoise.bits.toFixed(2)} bit, below the ENOB limit of ${wanted} bit`,
    );
  if (serial !== null && !serial.keepsUp)
    add(
      "trouble",
      "serial",
      `the serial line carries ${say.count(serial.carries)} readings/s of ${serial.bytesPerLine} bytes, the readings come at ${say.number(serial.load)} times that: collect the record in memory and send it afterwards, send fewer bytes, or set at least ${say.count(serial.baudNeeded)} Bd`,
    );
  return remarks;
}

function captureRemarks({ name, tone, overdrive, jitter }: CapturePlan): Remark[] {
  const remarks: Remark[] = [];
  const add = (severity: Remark["severity"], topic: Remark["topic"], text: string): void => {
    remarks.push({ severity, topic, captures: [name], text });
  };
  if (tone !== null) {
    if (tone.aliased)
      add(
        "caution",
        "tone",
        `${say.hertz(tone.frequency)} lies above half the rate and will appear at ${say.hertz(tone.appears)}`,
      );
    if (Math.abs(tone.frequency / tone.wanted - 1) > 0.05)
      add(
        "caution",
        "tone",
        `no coherent frequency lies within 5 % of ${say.hertz(tone.wanted)} for ${say.count(tone.readings)} readings`,
      );
    if (Math.abs(tone.residualCycles) > 1e-3)
      add(
        "caution",
        "tone",
        `the nearest settable frequency is ${say.number(Math.abs(tone.residualCycles))} cycle off a whole number: not coherent; scoring allows for it, a plain FFT would not`,
      );
    else if (tone.driftCycles > 1e-3)
      add(
        "caution",
        "tone",
        `the source's frequency limit alone may move the record by ± ${say.number(tone.driftCycles)} cycle: coherent only if generator and converter share a clock; scoring allows for it, a plain FFT would not`,
      );
    // A histogram does not look at harmonics.
    const crowded = overdrive === null ? tone.harmonics.filter((harmonic) => harmonic.state !== "kept") : [];
    if (crowded.length > 0)
      add(
        "caution",
        "tone",
        `harmonics ${crowded.map((h) => h.order).join(", ")} fold onto DC, the tone or another harmonic and cannot be told apart; another frequency would help`,
      );
  }
  if (overdrive !== null) {
    if (!overdrive.isSafe)
      add(
        "trouble",
        "histogram",
        `an amplitude of ${say.volts(overdrive.amplitude)}, which the end codes need, passes what the pin survives: take a smaller one and accept that the outer codes are not tested`,
      );
    else if (overdrive.isReached === false)
      add(
        "caution",
        "histogram",
        `the stated amplitude and offset do not pass both ends of the range by ${say.lsb(overdrive.overdrive)} once the source's limits are allowed for: the outer codes will not be tested; set ${say.volts(overdrive.amplitude)} about ${say.volts(overdrive.offset)}`,
      );
  }
  if (jitter?.stated && jitter.stated.bits < jitter.wantedBits)
    add(
      "trouble",
      "noise",
      `${say.seconds(jitter.stated.jitter)} of jitter leave ${jitter.stated.bits.toFixed(2)} bit at ${say.hertz(jitter.frequency)}, below the ${jitter.wantedBits} bit wanted by ${jitter.basis}`,
    );
  return remarks;
}

function limitRemarks({ metric, bound, limit, unit, capture, method, source }: LimitPlan): Remark[] {
  const name = `${metric} ${bound === "min" ? "≥" : "≤"} ${say.number(limit)} ${unit}`;
  const about = { topic: "limits", captures: capture === null ? [] : [capture] } as const;
  if (capture === null) return [{ ...about, severity: "undecidable", text: `${name}: ${method}` }];
  if (source === null || source.shows === "yes") return [];
  return [{ ...about, severity: source.shows === "no" ? "undecidable" : "caution", text: `${name}: ${source.text}` }];
}

function ohms(resistance: Ohms): string {
  return resistance >= 1e3 ? `${say.number(resistance / 1e3)} kΩ` : `${say.number(resistance)} Ω`;
}
