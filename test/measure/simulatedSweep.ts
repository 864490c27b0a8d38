import type { Stimulus } from "../../lib/bench/bench.ts";
import { pinStimulus } from "../../lib/bench/pinStimulus.ts";
import { scaleOf } from "../../lib/bench/scale.ts";
import type { Stretch } from "../../lib/capture/record.ts";
import type { MatchedRecord } from "../../lib/match/matched.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { type ConverterFaults, convertAll, simulatedTransitions } from "../../lib/simulate/converterModel.ts";

/** A converter of 0…2^bits V, so that one LSB is one volt and transitions read as LSB; record rate 1000 readings a second. */
export interface SweepSpec {
  readonly bits: number;
  readonly readings: number;
  /** Volts, which are LSB. */
  readonly noise: number;
  readonly stimulus: Partial<Stimulus> & { readonly kind: "sine" | "ramp" | "triangle" };
  /** Cycles per reading of a sine or triangle, and phase in turns (0: a sine's peak, a triangle's lowest point). */
  readonly cycles?: number;
  readonly start?: number;
  readonly faults?: ConverterFaults;
  readonly line?: "endpoint" | "best-fit";
  readonly seed?: number;
  readonly clean?: readonly Stretch[];
  /** Error of what is really applied: scale about the sine's offset (or 0 V) and shift. */
  readonly applied?: { readonly scale: number; readonly shift: number };
}

const NO_LIMITS = { gain: 0, offset: 0, linearity: 0, repeatability: 0 };

/** The same converter's record from codes that are already there. */
export function recordOf(
  codes: Int32Array,
  bits: number,
  stimulus: Stimulus | null,
  line: "endpoint" | "best-fit" = "endpoint",
  clean: readonly Stretch[] = [[0, codes.length - 1]],
  range: readonly [number, number] = [0, 2 ** bits],
): MatchedRecord {
  const converter = { bits, low: range[0], high: range[1], firstTransition: 0.5, line, reference: null };
  const spec = {
    name: "test",
    file: null,
    converter,
    frontEnd: null,
    stimulus,
    use: null,
  } as unknown as MatchedRecord["spec"];
  return {
    spec,
    log: null as unknown as MatchedRecord["log"],
    channel: "adc",
    codes,
    scale: scaleOf(converter),
    stimulus: pinStimulus(spec),
    appliedVolts: null,
    sampleRate: { value: 1000, basis: "stated", uncertainty: null, remarks: [] },
    rateLimit: 0,
    fit: null,
    clean,
    hum: null,
    findings: [],
  };
}

/** A sine stimulus with everything stated exactly. */
export function sine(amplitude: number | null, offset: number | null, extra: object = {}): Stimulus {
  return {
    kind: "sine",
    frequency: null,
    amplitude,
    offset,
    accuracy: { frequency: 0, amplitude: 0, offset: 0 },
    purity: { thd: null, snr: null },
    ...extra,
  };
}

export function ramp(from: number, to: number): Stimulus {
  return { kind: "ramp", from, to, duration: null, accuracy: NO_LIMITS };
}

/** A simulated record and the transitions it was made with, element k for T[k]. */
export function simulatedSweep(spec: SweepSpec): { record: MatchedRecord; T: Float64Array } {
  const { bits, readings, noise, cycles = 0.0713, start = 0.1, faults = {}, line, seed = 1, clean } = spec;
  const { scale: by = 0, shift = 0 } = spec.applied ?? {};
  const full = 2 ** bits;
  const scale = scaleOf({ bits, low: 0, high: full, firstTransition: 0.5 });
  const T = simulatedTransitions(scale, faults);
  let stimulus: Stimulus;
  let volts: (n: number) => number;
  const given = spec.stimulus;
  switch (given.kind) {
    case "sine": {
      stimulus = { ...sine(full * 0.52, full / 2), frequency: 1000 * cycles, ...given } as Stimulus;
      const amplitude = ("amplitude" in given ? given.amplitude : null) ?? full * 0.52;
      const offset = ("offset" in given ? given.offset : null) ?? full / 2;
      volts = (n) => offset + shift + amplitude * (1 + by) * Math.cos(2 * Math.PI * (cycles * n + start));
      break;
    }
    case "ramp": {
      const made = { ...(ramp(-0.02 * full, 1.02 * full) as Extract<Stimulus, { kind: "ramp" }>), ...given } as Extract<
        Stimulus,
        { kind: "ramp" }
      >;
      stimulus = made;
      volts = (n) => (made.from + ((made.to - made.from) * n) / (readings - 1)) * (1 + by) + shift;
      break;
    }
    default: {
      const made = {
        low: -0.02 * full,
        high: 1.02 * full,
        frequency: 1000 * cycles,
        accuracy: NO_LIMITS,
        ...given,
        kind: "triangle",
      } as Extract<Stimulus, { kind: "triangle" }>;
      stimulus = made;
      volts = (n) => {
        const x = cycles * n + start;
        const turn = x - Math.floor(x);
        return (made.low + (made.high - made.low) * (turn < 0.5 ? 2 * turn : 2 - 2 * turn)) * (1 + by) + shift;
      };
    }
  }
  const codes = convertAll(T, volts, readings, noise, seededRandom(seed));
  return { record: recordOf(codes, bits, stimulus, line, clean), T };
}
