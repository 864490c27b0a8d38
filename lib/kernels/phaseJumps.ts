// Jumps of phase between blocks. `level` holds the phase of each block against a reference that runs as fast as the tone, rad.

/** An angle brought into (−π, π], where most lie already. */
function wrapped(angle: f64): f64 {
  return angle > -Math.PI && angle <= Math.PI ? angle : turnedBack(angle);
}

function turnedBack(angle: f64): f64 {
  const turned = angle - 2 * Math.PI * floor<f64>(angle / (2 * Math.PI) + 0.5);
  return turned <= -Math.PI ? turned + 2 * Math.PI : turned;
}

/** Mean phases on both sides of a block, within first < … < last, of wider and wider windows. */
class BothSides {
  private block: i32 = 0;
  private from: f64 = 0;
  private to: f64 = 0;
  private before: f64 = 0;
  private after: f64 = 0;
  private blocksBefore: i32 = 0;
  private blocksAfter: i32 = 0;

  constructor(
    private level: Float64Array,
    private first: i32,
    private last: i32,
  ) {
    if (first < -1 || last > level.length) unreachable();
  }

  of(block: i32): void {
    const level = this.level;
    if (block <= this.first || block >= this.last) unreachable();
    this.block = block;
    this.from = level[max(0, block - 1)];
    this.to = level[min(level.length - 1, block + 1)];
    this.before = 0;
    this.after = 0;
    this.blocksBefore = 0;
    this.blocksAfter = 0;
  }

  /** Mean phase of up to w blocks after the block minus that of up to w before, as the smallest turn; w no smaller than the last time. */
  jump(w: i32): f64 {
    const level = this.level;
    const b = this.block;
    const from = this.from;
    const to = this.to;
    let before = this.before;
    let after = this.after;
    // At most as many as there are between the block and either end.
    const nb = min(w, b - this.first - 1);
    const na = min(w, this.last - b - 1);
    for (let i = this.blocksBefore + 1; i <= nb; i++) before += wrapped(unchecked(level[b - i]) - from);
    for (let i = this.blocksAfter + 1; i <= na; i++) after += wrapped(unchecked(level[b + i]) - to);
    this.before = before;
    this.after = after;
    this.blocksBefore = nb;
    this.blocksAfter = na;
    return wrapped(to - from + after / max(1, na) - before / max(1, nb));
  }
}

/** Jumps over w blocks on either side, of every stride-th block. */
export function jumpsOver(level: Float64Array, w: i32, stride: i32): Float64Array {
  const jumps = new Float64Array(max(0, (level.length - 2 * w + stride - 1) / stride));
  const sides = new BothSides(level, -1, level.length);
  for (let i = 0; i < jumps.length; i++) {
    sides.of(w + i * stride);
    jumps[i] = sides.jump(w);
  }
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
 * @param windows    rising
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
  // Wider windows go on from narrower ones, so that a block's are worked out together.
  const inside = max(0, last - first - 1);
  const jumps = new Float64Array(windows.length * inside);
  const sides = new BothSides(level, first - 1, last + 1);
  for (let k = 0; k < inside; k++) {
    sides.of(first + 1 + k);
    for (let i = 0; i < windows.length; i++) jumps[i * inside + k] = sides.jump(windows[i]);
  }
  let most = threshold;
  let found = false;
  for (let i = 0; i < windows.length; i++) {
    const w = windows[i];
    // The block that holds the jump belongs to neither side; at the ends one block a side must do.
    for (let b = first + 1; b < last; b++) {
      const have = min(w, min(b - first, last - b));
      const standard = max<f64>(scales[i], one * sqrt<f64>(2 / <f64>have));
      const z = abs<f64>(jumps[i * inside + b - first - 1]) / standard;
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
