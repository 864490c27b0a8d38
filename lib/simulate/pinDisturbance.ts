import type { CaptureSpec } from "../bench/bench.ts";
import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Scale } from "../bench/scale.ts";
import type { Hertz, Seconds, Volts } from "../bench/units.ts";
import type { Random } from "../signal/random.ts";
import type { FaultName, PlantedFault } from "./faults.ts";
import { sineOf } from "./stimulusWaveform.ts";

type Disturb = (volts: Volts, t: Seconds, n: number) => Volts;

/**
 * What happens to the signal between source and converter: the source's own distortion and noise, mains hum, drift, telegraph noise, slow settling, a
 * front end that flattens. Called once for each true reading, in order.
 */
export function pinDisturbance(
  stimulus: PinStimulus,
  spec: CaptureSpec,
  scale: Scale,
  rate: Hertz,
  readings: number,
  faults: readonly PlantedFault[],
  random: Random,
  neighbour?: Volts,
): Disturb {
  const stages: Disturb[] = [];
  const find = (name: FaultName): PlantedFault | undefined => faults.find((f) => f.name === name);
  const sine = stimulus.kind === "sine" ? sineOf(stimulus, scale, rate) : null;
  const turn = (): number => 2 * Math.PI * random.uniform();

  const thd = find("source-thd");
  if (thd && sine) {
    const each = (sine.amplitude * 10 ** (thd.size / 20)) / Math.SQRT2;
    const phases = [turn(), turn()] as const;
    const line = (h: number, t: Seconds): number =>
      Math.cos(2 * Math.PI * ((h * sine.frequency * t) % 1) + phases[h - 2]!);
    stages.push((v, t) => v + each * (line(2, t) + line(3, t)));
  }
  const noise = find("source-noise");
  if (noise && sine) {
    const sigma = (sine.amplitude / Math.SQRT2) * 10 ** (-noise.size / 20);
    stages.push((v) => v + sigma * random.normal());
  }
  const settling = find("settling");
  if (settling) stages.push(settle(spec, scale, settling.size, neighbour));
  const hum = find("hum");
  if (hum) {
    const mains = hum.second ?? 50;
    const lines = [
      [1, 1],
      [2, 0.3],
      [3, 0.3],
      [5, 0.2],
    ].map(([order, share]) => ({ f: order! * mains, a: share! * hum.size * scale.lsb, phase: turn() }));
    stages.push((v, t) => lines.reduce((sum, l) => sum + l.a * Math.cos(2 * Math.PI * ((l.f * t) % 1) + l.phase), v));
  }
  const drift = find("drift");
  if (drift) stages.push((v, _, n) => v + (drift.size * scale.lsb * n) / readings);
  const warm = find("warm-up");
  if (warm) stages.push((v, _, n) => v - warm.size * scale.lsb * Math.exp((-5 * n) / readings));
  const [low, high] = spanOf(stimulus, scale, rate);
  const [middle, half] = [(low + high) / 2, (high - low) / 2];
  const gain = find("gain-drift");
  if (gain && half > 0)
    stages.push((v, _, n) => v + ((v - middle) / half) * gain.size * scale.lsb * (n / readings - 0.5));
  const telegraph = find("telegraph");
  if (telegraph) {
    const stay = 1 - 1 / (telegraph.second ?? 200);
    let high = random.uniform() < 0.5;
    stages.push((v) => {
      if (random.uniform() > stay) high = !high;
      return v + (high ? 0.5 : -0.5) * telegraph.size * scale.lsb;
    });
  }
  const clipped = find("clipped");
  if (clipped) {
    const reach = half * (clipped.size / 100);
    stages.push((v) => Math.max(middle - reach, Math.min(middle + reach, v)));
  }
  const compressed = find("compressed");
  if (compressed && half > 0) {
    const k = saturation(compressed.size / 100);
    stages.push((v) => middle + (half / k) * Math.tanh((k * (v - middle)) / half));
  }
  return (volts, t, n) => {
    let v = volts;
    for (const stage of stages) v = stage(v, t, n);
    return v;
  };
}

/** k for which tanh(k)/k falls short of 1 by `loss`: by bisection. */
function saturation(loss: number): number {
  let [low, high] = [1e-6, 20];
  for (let i = 0; i < 60; i++) {
    const k = (low + high) / 2;
    if (1 - Math.tanh(k) / k < loss) low = k;
    else high = k;
  }
  return low;
}

/** One time constant after each step of the source, or after each switch from the neighbouring channel of a scan. */
function settle(spec: CaptureSpec, scale: Scale, constant: number, neighbour?: Volts): Disturb {
  const left = Math.exp(-1 / constant);
  const { scan } = spec;
  let at: Volts | null = null;
  return (v, _, n) => {
    if (scan !== null && n % scan.readingsPerVisit === 0) at = neighbour ?? scale.low + 0.1 * scale.fsr;
    at = at === null ? v : v + (at - v) * left;
    return at;
  };
}

function spanOf(stimulus: PinStimulus, scale: Scale, rate: Hertz): readonly [Volts, Volts] {
  switch (stimulus.kind) {
    case "sine": {
      const { amplitude, offset } = sineOf(stimulus, scale, rate);
      return [offset - amplitude, offset + amplitude];
    }
    case "ramp":
      return [Math.min(stimulus.from, stimulus.to), Math.max(stimulus.from, stimulus.to)];
    case "triangle":
      return [stimulus.low, stimulus.high];
    default:
      return [scale.low, scale.low + scale.fsr];
  }
}
