// Jumps of phase between blocks. `level` holds the phase of each block against a reference that runs as fast as the tone, rad.

/** An angle brought into (−π, π], where most lie already. */
function wrapped(angle: f64): f64 {
  return angle > -Math.PI && angle <= Math.PI ? angle : turnedBack(angle);
}

function turnedBack(angle: f64): f64 {
  const turned = angle - 2 * Math.PI * floor<f64>(angle / (2 * Math.PI) + 0.5);
  return turned <= -Math.PI ? turned + 2 * Math.PI : turned;
}

/** Mean phase of up to w blocks after block b minus that of up to w before, within first < … < last, as the smallest turn. */
function jump(level: Float64Array, b: i32, w: i32, first: i32, last: i32): f64 {
  if (first < -1 || last > level.length || b <= first || b >= last) unreachable();
  const from = level[max(0, b - 1)];
  const to = level[min(level.length - 1, b + 1)];
  let before: f64 = 0;
  let after: f64 = 0;
  const nb = min(w, b - first - 1);
  const na = min(w, last - b - 1);
  for (let i = 1; i <= nb; i++) before += wrapped(unchecked(level[b - i]) - from);
  for (let i = 1; i <= na; i++) after += wrapped(unchecked(level[b + i]) - to);
  return wrapped(to - from + after / max(1, na) - before / max(1, nb));
}

/** Jumps over w blocks on either side, of every stride-th block. */
export function jumpsOver(level: Float64Array, w: i32, stride: i32): Float64Array {
  const jumps = new Float64Array(max(0, (level.length - 2 * w + stride - 1) / stride));
  for (let i = 0; i < jumps.length; i++) jumps[i] = jump(level, w + i * stride, w, -1, level.length);
  return jumps;
}

export class ClearestJump {
  block: i32 = 0;
  /** Blocks on either side over which it shows most. */
  window: i32 = 1;
  standard: f64 = 1;
}

/**
 * The jump that stands out most among blocks first…last; null where none does.
 * @param scales     scatter of jumps over each window
 * @param one        standard deviation of one block's phase
 * @param threshold  standard deviations
 */
export function clearestJump(
  level: Float64Array,
  windows: Int32Array,
  scales: Float64Array,
  one: f64,
  threshold: f64,
  first: i32,
  last: i32,
): ClearestJump | null {
  const best = new ClearestJump();
  let most = threshold;
  let found = false;
  for (let i = 0; i < windows.length; i++) {
    const w = windows[i];
    // The block that holds the jump belongs to neither side; at the ends one block a side must do.
    for (let b = first + 1; b < last; b++) {
      const have = min(w, min(b - first, last - b));
      const standard = max<f64>(scales[i], one * sqrt<f64>(2 / <f64>have));
      const z = abs<f64>(jump(level, b, w, first - 1, last + 1)) / standard;
      if (!(z > most * 1.0001)) continue;
      found = true;
      most = z;
      best.block = b;
      best.window = w;
      best.standard = standard;
    }
  }
  return found ? best : null;
}

/** By how much the phase advances over `reach` blocks, for each block of them. */
export function advances(level: Float64Array, reach: i32): Float64Array {
  const found = new Float64Array(level.length - reach);
  for (let b = reach; b < level.length; b++) found[b - reach] = wrapped(level[b] - level[b - reach]) / reach;
  return found;
}

/** The phase against a reference that runs faster by `slope` a block. */
export function withoutSlope(phase: Float64Array, slope: f64): Float64Array {
  const level = new Float64Array(phase.length);
  for (let b = 0; b < phase.length; b++) level[b] = wrapped(phase[b] - slope * b);
  return level;
}
