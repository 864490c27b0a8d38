// State of the generator that draws now; the others' wait in lib/signal/random.ts.
let a: u32 = 0;
let b: u32 = 0;
let c: u32 = 0;
let d: u32 = 0;
/** The second of a pair of normal deviates; NaN when there is none. */
let spare: f64 = NaN;

/** What a generator remembers from one number to the next. */
export class RandomState {
  a: u32 = 0;
  b: u32 = 0;
  c: u32 = 0;
  d: u32 = 0;
  spare: f64 = NaN;
}

/** The state that a seed begins with: splitmix32. */
export function seededState(seed: i32): RandomState {
  const state = new RandomState();
  state.a = mixed(seed + 0x9e3779b9);
  state.b = mixed(seed + 2 * 0x9e3779b9);
  state.c = mixed(seed + 3 * 0x9e3779b9);
  state.d = mixed(seed + 4 * 0x9e3779b9);
  return state;
}

function mixed(mix: u32): u32 {
  let z = mix ^ (mix >>> 16);
  z *= 0x21f0aaad;
  z ^= z >>> 15;
  z *= 0x735a2d97;
  return z ^ (z >>> 15);
}

/** The generator of this state draws from now on. */
export function drawFrom(state: RandomState): void {
  a = state.a;
  b = state.b;
  c = state.c;
  d = state.d;
  spare = state.spare;
}

/** Where the generator that draws has come to. */
export function randomState(): RandomState {
  const state = new RandomState();
  state.a = a;
  state.b = b;
  state.c = c;
  state.d = d;
  state.spare = spare;
  return state;
}

/** xoshiro128**. Each word of the state is read once and written once: they lie in memory. */
function step(): u32 {
  const first = a;
  const second = b;
  const third = c ^ first;
  const fourth = d ^ second;
  a = first ^ fourth;
  b = second ^ third;
  c = third ^ (second << 9);
  d = rotl<u32>(fourth, 11);
  return rotl<u32>(second * 5, 7) * 9;
}

/** Uniform in [0, 1): 53 bits, from two draws. */
export function uniform(): f64 {
  const high: f64 = step();
  const low: f64 = step() >>> 11;
  return (high * 0x200000 + low) / 9007199254740992;
}

/** Standard normal, by Marsaglia's polar method. */
export function normal(): f64 {
  if (!Number.isNaN(spare)) {
    const kept = spare;
    spare = NaN;
    return kept;
  }
  while (true) {
    const u = 2 * uniform() - 1;
    const v = 2 * uniform() - 1;
    const s = u * u + v * v;
    if (s > 0 && s < 1) {
      const factor = sqrt<f64>((-2 * Math.log(s)) / s);
      spare = v * factor;
      return u * factor;
    }
  }
}

export function uniforms(count: i32): Float64Array {
  const numbers = new Float64Array(count);
  for (let i = 0; i < count; i++) numbers[i] = uniform();
  return numbers;
}

export function normals(count: i32): Float64Array {
  const numbers = new Float64Array(count);
  for (let i = 0; i < count; i++) numbers[i] = normal();
  return numbers;
}
