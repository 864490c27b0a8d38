import type {
  CaptureSpec,
  RampStimulus,
  SineStimulus,
  SteadyStimulus,
  StepsStimulus,
  TriangleStimulus,
} from "./bench.ts";
import type { Volts } from "./units.ts";

/**
 * One stated limit of what is applied, as its effect on a voltage at the pin. All limits are rectangular and independent of each other,
 * and each acts as one fixed error through a whole capture:
 *   a scale limit moves a voltage V by δ·(V − pivot), |δ| ≤ halfWidth (a ratio);
 *   a shift limit moves every voltage by δ, |δ| ≤ halfWidth (volts).
 */
export type SourceLimit =
  | { readonly from: string; readonly kind: "scale"; readonly halfWidth: number; readonly pivot: Volts }
  | { readonly from: string; readonly kind: "shift"; readonly halfWidth: Volts };

/** A stimulus with every voltage referred to the pin, and the limits of what the source, the front end and the reference state. */
export type PinStimulus = (SineStimulus | RampStimulus | TriangleStimulus | SteadyStimulus | StepsStimulus) & {
  readonly limits: readonly SourceLimit[];
  /** ± limit of the source's departure from its own straight line, volts at the pin (ramp, triangle, steady, steps). */
  readonly linearity: Volts;
  /** ± fresh error each time a level is set, volts at the pin. */
  readonly repeatability: Volts;
};

/** A voltage at the source, as it arrives at the pin. */
export function atPin(spec: Pick<CaptureSpec, "frontEnd">, volts: Volts): Volts {
  return spec.frontEnd === null ? volts : spec.frontEnd.gain * volts + spec.frontEnd.offset;
}

/** A voltage at the pin, referred back to the source. */
export function atSource(spec: Pick<CaptureSpec, "frontEnd">, volts: Volts): Volts {
  return spec.frontEnd === null ? volts : (volts - spec.frontEnd.offset) / spec.frontEnd.gain;
}

/**
 * Refers a capture's stimulus to the converter's pin and lists what limits its knowledge.
 * A sine's amplitude limit acts about its own offset; the gain of a ramp, triangle, steady or steps source acts about 0 V at the source; the front end's
 * gain acts about its own offset; the reference's accuracy acts about the bottom of the range (the range grows, so every voltage reads
 * smaller) and drops out of a ratiometric bench, where the source is derived from the same reference.
 * @returns null when the bench states no stimulus
 */
export function pinStimulus(spec: CaptureSpec): PinStimulus | null {
  const { stimulus, frontEnd, converter } = spec;
  if (stimulus === null) return null;
  const gain = Math.abs(frontEnd?.gain ?? 1);
  const zero = atPin(spec, 0);
  const limits: SourceLimit[] = [];
  const scale = (from: string, halfWidth: number, pivot: Volts): void => {
    if (halfWidth > 0) limits.push({ from, kind: "scale", halfWidth, pivot });
  };
  const shift = (from: string, halfWidth: Volts): void => {
    if (halfWidth > 0) limits.push({ from, kind: "shift", halfWidth });
  };
  if (frontEnd) scale("front-end gain", frontEnd.accuracy, frontEnd.offset);
  const { reference } = converter;
  if (reference && !reference.ratiometric)
    scale("reference", reference.accuracy / (converter.high - converter.low), converter.low);

  if (stimulus.kind === "sine") {
    const offset = stimulus.offset === null ? null : atPin(spec, stimulus.offset);
    const amplitude = stimulus.amplitude === null ? null : gain * stimulus.amplitude;
    scale("source amplitude", stimulus.accuracy.amplitude, offset ?? zero);
    shift("source offset", gain * stimulus.accuracy.offset);
    return { ...stimulus, offset, amplitude, limits, linearity: 0, repeatability: 0 };
  }
  scale("source gain", stimulus.accuracy.gain, zero);
  shift("source offset", gain * stimulus.accuracy.offset);
  const repeatability = gain * stimulus.accuracy.repeatability;
  const linearityOver = (span: Volts): Volts => stimulus.accuracy.linearity * Math.abs(span);
  switch (stimulus.kind) {
    case "ramp": {
      const from = atPin(spec, stimulus.from);
      const to = atPin(spec, stimulus.to);
      return { ...stimulus, from, to, limits, linearity: linearityOver(to - from), repeatability };
    }
    case "triangle": {
      const ends = [atPin(spec, stimulus.low), atPin(spec, stimulus.high)] as const;
      const low = Math.min(...ends);
      const high = Math.max(...ends);
      return { ...stimulus, low, high, limits, linearity: linearityOver(high - low), repeatability };
    }
    case "steady": {
      const voltage = stimulus.voltage === null ? null : atPin(spec, stimulus.voltage);
      return { ...stimulus, voltage, limits, linearity: 0, repeatability };
    }
    case "steps": {
      const levels = stimulus.levels?.map((l) => ({ ...l, voltage: atPin(spec, l.voltage) })) ?? null;
      const volts = levels?.map((l) => l.voltage) ?? [];
      // Levels in a column are not known here; the measure scales linearity by the span it finds.
      const span = volts.length > 0 ? Math.max(...volts) - Math.min(...volts) : converter.high - converter.low;
      // A front end that inverts turns rising levels into falling ones.
      const turned = { up: "down", down: "up", both: "both" } as const;
      const direction = (frontEnd?.gain ?? 1) < 0 ? turned[stimulus.direction] : stimulus.direction;
      return { ...stimulus, levels, direction, limits, linearity: linearityOver(span), repeatability };
    }
  }
}
