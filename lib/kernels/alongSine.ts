/** A sine as fits give it, in readings and codes. */
export class Sine {
  cyclesPerReading: f64 = 0;
  phase: f64 = 0;
  amplitude: f64 = 0;
  offset: f64 = 0;
}

/** The pointer is turned on this far before cosine and sine set it anew: its rounding stays near 1e-13 of the amplitude. */
export const BLOCK = 1024;

/** A sine's value at one reading after another, without a cosine a reading. */
export class AlongSine {
  private stepC: f64;
  private stepS: f64;
  /** Worked out ahead in a loop of its own, whose pointer stays in registers. */
  private values: StaticArray<f64> = new StaticArray<f64>(BLOCK);
  private at: i32 = BLOCK;

  constructor(
    private sine: Sine,
    /** The reading that comes after those worked out. */
    private n: f64,
  ) {
    const omega = 2 * Math.PI * sine.cyclesPerReading;
    this.stepC = Math.cos(omega);
    this.stepS = Math.sin(omega);
  }

  @inline
  next(): f64 {
    if (this.at === BLOCK) this.fill();
    return unchecked(this.values[this.at++]);
  }

  /** The next BLOCK values, where none have been asked for one by one since the last; good until the next are. */
  ahead(): StaticArray<f64> {
    this.fill();
    return this.values;
  }

  private fill(): void {
    const turns = this.sine.cyclesPerReading * this.n;
    const theta = 2 * Math.PI * (turns - floor<f64>(turns)) + this.sine.phase;
    const offset = this.sine.offset;
    const stepC = this.stepC;
    const stepS = this.stepS;
    const values = this.values;
    let c = this.sine.amplitude * Math.cos(theta);
    let s = this.sine.amplitude * Math.sin(theta);
    for (let i = 0; i < BLOCK; i++) {
      unchecked((values[i] = offset + c));
      const turned = c * stepC - s * stepS;
      s = c * stepS + s * stepC;
      c = turned;
    }
    this.n += BLOCK;
    this.at = 0;
  }
}

/** A sine's values at readings `first` on. */
export function sineValues(sine: Sine, first: f64, count: i32): Float64Array {
  const values = new Float64Array(count);
  const along = new AlongSine(sine, first);
  for (let i = 0; i < count; i++) unchecked((values[i] = along.next()));
  return values;
}

/** What a sine leaves of readings `first` on. */
export function besideSine(codes: Int32Array, sine: Sine, first: f64): Float64Array {
  const left = new Float64Array(codes.length);
  const along = new AlongSine(sine, first);
  for (let i = 0; i < codes.length; i++) unchecked((left[i] = <f64>codes[i] - along.next()));
  return left;
}
