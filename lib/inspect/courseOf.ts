import type { Hertz } from "../bench/units.ts";
import { describeValues } from "../signal/descriptive.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import type { Course } from "./inspection.ts";
import { plateaus } from "./plateaus.ts";
import { shapeFit } from "./shapeFit.ts";

/** The course is judged by at most so many readings from the beginning; a ramp by as many spread over all of it. */
const JUDGED = 1 << 17;
const FEWEST = 8;

/**
 * Says how the readings run: sine (with frequency), triangle, ramp, steps, steady. A judgement for the eye, not a measurement.
 * @param values  codes, or volts
 * @param rate    readings per second, where it is known
 */
export function courseOf(values: ArrayLike<number>, rate: Hertz | null): Course {
  const n = values.length;
  if (n < FEWEST)
    return course("too short", `${n === 1 ? "one reading is" : `${n} readings are`} too few to tell how they run`);
  const all = thinned(values);
  const whole = describeValues(all);
  if (whole.sd === 0) return course("steady", `steady: every reading is ${figure(whole.mean)}`, { offset: whole.mean });

  const line = lineResidual(all);
  const head = n <= JUDGED ? values : Float64Array.from({ length: JUDGED }, (_, i) => values[i]!);
  const about = describeValues(head);
  const sine = about.sd > 0 ? fitSine(head) : null;
  const sineLeft = sine === null ? 1 : Math.sqrt(sine.rss / ((about.count - 1) * about.sd ** 2));
  const cycles = sine === null ? 0 : sine.cyclesPerReading * head.length;

  // A piece of a sine shorter than a cycle can follow any line: the line is believed unless the sine is clearly closer.
  const lineLeft = line.residual / whole.sd;
  const steps = plateaus(all);
  // A staircase follows a line too, but its stretches follow it closer.
  if (
    steps !== null &&
    steps.count >= 3 &&
    steps.left < 0.5 * lineLeft &&
    steps.left < 0.1 &&
    steps.left < 0.5 * sineLeft
  )
    return stepped(steps.levels, steps.count);
  const span = Math.abs(line.slope) * (all.length - 1);
  if (
    lineLeft < 0.12 &&
    span > 12 * Math.max(line.residual, 1e-12) &&
    !(cycles >= 0.3 && cycles <= 1.5 && sineLeft < 0.5 * lineLeft)
  )
    return course("ramp", `a ramp ${line.slope > 0 ? "up" : "down"} from ${figure(line.start)} to ${figure(line.end)}`);

  if (sine !== null && cycles >= 0.8 && sineLeft < 0.7) {
    const shape = shapeFit(head, sine);
    const share = Math.min(sineLeft, shape.triangle, shape.ramp);
    if (share === shape.triangle && shape.triangle < 0.8 * sineLeft && shape.triangle < 0.35)
      return periodic("triangle", sine, rate, shape.triangleAmplitude);
    if (share === shape.ramp && shape.ramp < 0.8 * sineLeft && shape.ramp < 0.35)
      return periodic("repeated ramp", sine, rate, shape.rampAmplitude);
    if (steps !== null && steps.left < 0.6 * sineLeft && steps.left < 0.3) return stepped(steps.levels, steps.count);
    if (sineLeft < 0.45) return periodic("sine", sine, rate, sine.amplitude);
  }
  if (steps !== null && steps.left < 0.3) return stepped(steps.levels, steps.count);
  if (isNoise(values) || whole.max - whole.min <= 4)
    return course("steady", `steady at ${figure(whole.mean)} with ${figure(whole.sd)} rms of noise`, {
      offset: whole.mean,
    });
  if (sine !== null && sineLeft < 0.87 && cycles >= 3) return periodic("sine", sine, rate, sine.amplitude, true);
  return course("unclear", "nothing simple: no sine, triangle, ramp, steps or steady level");
}

function periodic(
  kind: "sine" | "triangle" | "repeated ramp",
  sine: SineFit,
  rate: Hertz | null,
  amplitude: number,
  noisy = false,
): Course {
  const frequency = rate === null ? null : sine.cyclesPerReading * rate;
  const often =
    frequency === null
      ? `${figure(1 / sine.cyclesPerReading)} readings a cycle (frequency unknown without a sample rate)`
      : `${figure(frequency)} Hz`;
  return course(
    kind,
    `a ${kind}${noisy ? " in much noise" : ""}, ${often}, amplitude ${figure(amplitude)} about ${figure(sine.offset)}`,
    { cyclesPerReading: sine.cyclesPerReading, frequency, amplitude, offset: sine.offset },
  );
}

function stepped(levels: number, count: number): Course {
  return course("steps", `steps: ${count} stretches at ${levels} different levels`, { levels });
}

function course(kind: Course["kind"], text: string, figures: Partial<Course> = {}): Course {
  return {
    kind,
    text,
    cyclesPerReading: null,
    frequency: null,
    amplitude: null,
    offset: null,
    levels: null,
    ...figures,
  };
}

/** Five significant digits are enough for the eye. */
export function figure(value: number): string {
  return String(Number(value.toPrecision(5)));
}

function thinned(values: ArrayLike<number>): Float64Array {
  const stride = Math.max(1, Math.ceil(values.length / JUDGED));
  return Float64Array.from({ length: Math.ceil(values.length / stride) }, (_, i) => values[i * stride]!);
}

function lineResidual(xs: Float64Array): { slope: number; start: number; end: number; residual: number } {
  const n = xs.length;
  const middle = (n - 1) / 2;
  const { mean } = describeValues(xs);
  let together = 0;
  for (let i = 0; i < n; i++) together += (i - middle) * (xs[i]! - mean);
  const slope = together / ((n * (n * n - 1)) / 12);
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (xs[i]! - mean - slope * (i - middle)) ** 2;
  return { slope, start: mean - slope * middle, end: mean + slope * middle, residual: Math.sqrt(squares / n) };
}

/**
 * Do neighbours differ as much as any two readings? For independent readings the mean square successive difference is twice the variance.
 * Source: von Neumann, "Distribution of the ratio of the mean square successive difference to the variance", Ann. Math. Statist. 12, 1941.
 */
function isNoise(values: ArrayLike<number>): boolean {
  const n = Math.min(values.length, JUDGED);
  const { sd } = describeValues(values, 0, n - 1);
  let squares = 0;
  for (let i = 1; i < n; i++) squares += (values[i]! - values[i - 1]!) ** 2;
  const ratio = squares / (n - 1) / sd ** 2;
  return ratio > 1 && ratio < 2 + 6 / Math.sqrt(n) + 0.5;
}
