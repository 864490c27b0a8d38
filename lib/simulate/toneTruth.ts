import type { MetricName } from "../bench/metrics.ts";
import type { Scale } from "../bench/scale.ts";
import type { Hertz, Volts } from "../bench/units.ts";
import { realFft } from "../signal/fft.ts";
import { normalCdf, normalPdf } from "../signal/normal.ts";

export interface ToneSetUp {
  /** T[k] in volts, k = 1…topCode, rising; element 0 is not looked at. */
  readonly T: Float64Array;
  readonly scale: Scale;
  /** At the pin: offset + amplitude·cos θ. */
  readonly amplitude: Volts;
  readonly offset: Volts;
  /** Gaussian noise at the input, rms. */
  readonly noise: Volts;
  /** With it the noise density is given too. */
  readonly sampleRate?: Hertz;
  /** Orders that the record's frequency makes inseparable from DC or the tone: left out of THD and of the noise. */
  readonly inseparable?: readonly number[];
}

export type ToneTruth = Partial<Record<MetricName, number>>;

const ORDERS = 10;

/**
 * What a tone test of a converter with known transitions tends to when the record grows without end and the tone's phase takes every value
 * alike: what a capture's
 * intervals must hold. Worked out from the definitions, not with the code that measures: a staircase's harmonics are sums of sines of the
 * phases at which the
 * tone crosses the transitions; noise shifts all transitions together and is averaged over.
 * @returns sinad, snr, thd, sfdr (largest line of any order), enob, enobAtLevel, signalLevel and, with a rate, noiseFloor; units as in
 *   DESIGN §4
 * @throws RangeError  amplitude is not positive
 * Source: DESIGN §4; Fourier series of a staircase, closed form.
 */
export function toneTruth(setUp: ToneSetUp): ToneTruth {
  const { T, scale, amplitude, offset, noise, sampleRate, inseparable = [] } = setUp;
  if (!(amplitude > 0)) throw new RangeError(`toneTruth: amplitude must be positive, in volts; got ${amplitude}`);
  const { mean, square, harmonics } = staircase(T, scale, amplitude, offset, noise);
  const fundamental = harmonics[1]! ** 2 / 2;
  let distortion = 0;
  let hidden = 0;
  for (let h = 2; h <= ORDERS; h++) {
    if (inseparable.includes(h)) hidden += harmonics[h]! ** 2 / 2;
    else distortion += harmonics[h]! ** 2 / 2;
  }
  const nad = square - mean * mean - fundamental - hidden;
  const left = nad - distortion;
  const codes = 2 ** scale.bits;
  const spur = largestLine(T, scale, amplitude, offset, noise, inseparable);
  const db = (ratio: number): number => 10 * Math.log10(ratio);
  const sinad = db(fundamental / nad);
  return {
    sinad,
    enob: Math.log2(codes / Math.sqrt(12 * nad)),
    enobAtLevel: (sinad - 10 * Math.log10(1.5)) / (20 * Math.log10(2)),
    snr: db(fundamental / left),
    thd: db(distortion / fundamental),
    sfdr: db(fundamental / spur),
    signalLevel: db(fundamental / (codes * codes * 0.125)),
    ...(sampleRate === undefined ? {} : { noiseFloor: db(left / (codes * codes * 0.125) / (sampleRate / 2)) }),
  };
}

/** Mean and mean square of the codes, counted from the tone's middle, and the amplitudes of harmonics 1…ORDERS, averaged over the noise. */
function staircase(
  T: Float64Array,
  scale: Scale,
  amplitude: Volts,
  offset: Volts,
  noise: Volts,
): { mean: number; square: number; harmonics: Float64Array } {
  const sigma = noise / scale.lsb;
  const step = sigma > 0 ? nodeStep(sigma) : 1;
  const reach = sigma > 0 ? Math.ceil(6.5 / step) : 0;
  // Codes are counted from the middle of the tone, and node by node: sums of 1e9 LSB² must leave a few tenths of one exact.
  const middle = countAtOrBelow(T, scale.topCode, offset);
  let mean = 0;
  let square = 0;
  const harmonics = new Float64Array(ORDERS + 1);
  const ofNode = new Float64Array(ORDERS + 1);
  let total = 0;
  for (let node = -reach; node <= reach; node++) total += normalPdf(node * step);
  for (let node = -reach; node <= reach; node++) {
    const z = node * step;
    const weight = normalPdf(z) / total;
    let sum = 0;
    let squares = 0;
    ofNode.fill(0);
    for (let k = 1; k <= scale.topCode; k++) {
      const x = (T[k]! - noise * z - offset) / amplitude;
      if (x >= 1 && k > middle) break;
      // The code is at least k while |θ| < acos x; Σ over k of (2k − 1) makes the square. Transitions below the middle count as passed
      // already.
      const theta = Math.acos(Math.max(-1, Math.min(1, x)));
      const passed = theta / Math.PI - (k <= middle ? 1 : 0);
      sum += passed;
      squares += (2 * (k - middle) - 1) * passed;
      if (x >= 1 || x <= -1) continue;
      // sin hθ by the recurrence sin (h+1)θ = 2x·sin hθ − sin (h−1)θ.
      let before = 0;
      let now = Math.sqrt(1 - x * x);
      for (let h = 1; h <= ORDERS; h++) {
        ofNode[h]! += now;
        const next = 2 * x * now - before;
        before = now;
        now = next;
      }
    }
    mean += weight * sum;
    square += weight * squares;
    for (let h = 1; h <= ORDERS; h++) harmonics[h]! += (weight * 2 * ofNode[h]!) / (Math.PI * h);
  }
  return { mean, square, harmonics };
}

/**
 * Step of the trapezoid over the noise, in standard deviations. The staircase's average repeats itself with every LSB of shift, so that
 * what is integrated swings at k·σ cycles a
 * standard deviation, k = 1, 2, …; the trapezoid takes a swing for a slow one where k·σ lies near a multiple of 1/step. A distance of one
 * leaves e^(−2π²) = 3·10⁻⁹ of it.
 */
function nodeStep(sigma: number): number {
  for (let rate = 10; ; rate += 0.37) {
    const clear = [1, 2, 3, 4].every((k) => {
      const multiple = Math.round((k * sigma) / rate);
      return multiple === 0 || Math.abs(k * sigma - multiple * rate) >= 1;
    });
    if (clear) return 1 / rate;
  }
}

/** Power of the largest line besides DC and the tone, of any order up to beyond the quantiser's own pattern. */
function largestLine(
  T: Float64Array,
  scale: Scale,
  amplitude: Volts,
  offset: Volts,
  noise: Volts,
  inseparable: readonly number[],
): number {
  // A staircase's pattern reaches to order 2π·amplitude/LSB; sixteen phases for each of these orders.
  const orders = (2 * Math.PI * amplitude) / scale.lsb;
  // Noise of 0.7 LSB leaves e^(−2π²·0.49), 84 dB less, of it: then only low orders are left to be the largest.
  const most = noise > 0.7 * scale.lsb ? 15 : 22;
  const size = 2 ** Math.min(most, Math.max(12, Math.ceil(Math.log2(16 * orders))));
  const curve = new Float64Array(size);
  for (let i = 0; i <= size / 2; i++) {
    const code = meanCode(T, scale.topCode, offset + amplitude * Math.cos((2 * Math.PI * i) / size), noise);
    curve[i] = code;
    if (i > 0) curve[size - i] = code;
  }
  const { re } = realFft(curve);
  let largest = 0;
  for (let h = 2; h <= Math.min(1.2 * orders + 20, size / 2 - 1); h++) {
    if (inseparable.includes(h)) continue;
    const a = (2 * re[h]!) / size;
    largest = Math.max(largest, (a * a) / 2);
  }
  return largest;
}

/** Mean code at a steady input: Σ Φ((v − T[k])/noise), only transitions within eight standard deviations looked at. */
function meanCode(T: Float64Array, top: number, volts: Volts, noise: Volts): number {
  const below = countAtOrBelow(T, top, volts - 8 * noise);
  const within = noise > 0 ? countAtOrBelow(T, top, volts + 8 * noise) : below;
  let code = below;
  for (let k = below + 1; k <= within; k++) code += normalCdf((volts - T[k]!) / noise);
  return code;
}

function countAtOrBelow(T: Float64Array, top: number, volts: Volts): number {
  let low = 0;
  let high = top;
  while (low < high) {
    const middle = (low + high + 1) >>> 1;
    if (T[middle]! <= volts) low = middle;
    else high = middle - 1;
  }
  return low;
}
