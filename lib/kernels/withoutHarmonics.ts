import { BINS, explainedByColumns, gather, halfBinCosines, harmonicColumns, PhaseCurve } from "./phaseCurve";

export class WithoutHarmonics {
  values: Float64Array = new Float64Array(0);
  /** Rounds after which the harmonics could no more be told apart; all where they could. */
  rounds: i32 = 0;
}

/** Takes harmonics 1 to `orders` of a tone (cycles a value) off evenly spaced values, by least squares over its phase, in some rounds. */
export function withoutHarmonics(values: Float64Array, tone: f64, orders: i32, rounds: i32): WithoutHarmonics {
  const found = new WithoutHarmonics();
  found.values = values;
  const cosines = halfBinCosines();
  const columns = new Float64Array((2 * orders + 1) * BINS);
  columns.fill(1, 0, BINS);
  for (let order = 1; order <= orders; order++) harmonicColumns(columns, (2 * order - 1) * BINS, order, cosines);
  for (; found.rounds < rounds; found.rounds++) {
    const curve = new PhaseCurve();
    for (let n = 0; n < values.length; n++) gather(curve.sums, curve.counts, tone * n, unchecked(values[n]));
    const lines = explainedByColumns(curve, columns);
    if (lines === null) return found;
    for (let order = 1; order <= orders; order++)
      takeLineOff(values, order * tone, lines.x[2 * order - 1], lines.x[2 * order]);
  }
  return found;
}

/** a·cos + b·sin of a line, by a pointer that is set anew every 1024 values. */
function takeLineOff(values: Float64Array, frequency: f64, a: f64, b: f64): void {
  const stepC = Math.cos(2 * Math.PI * frequency);
  const stepS = Math.sin(2 * Math.PI * frequency);
  for (let start = 0; start < values.length; start += 1024) {
    const end = min(values.length, start + 1024);
    const turns = frequency * start;
    let c = Math.cos(2 * Math.PI * (turns - floor<f64>(turns)));
    let s = Math.sin(2 * Math.PI * (turns - floor<f64>(turns)));
    for (let n = start; n < end; n++) {
      unchecked((values[n] -= a * c + b * s));
      const next = c * stepC - s * stepS;
      s = s * stepC + c * stepS;
      c = next;
    }
  }
}
