/** A column in whole steps of 16 bits each: value = from + step·word. */
export class PackedValues {
  from: f64 = 0;
  step: f64 = 1;
  words: Int16Array = new Int16Array(0);
}

/** Cuts a column's range into so many steps. */
const STEPS: f64 = 65_000;
const GAP: i16 = -32768;

/** Packs a column; what is not finite becomes a gap. Whole numbers survive exactly where their range allows it. */
export function packedValues(values: Float64Array): PackedValues {
  let low = Infinity;
  let high = -Infinity;
  let whole = true;
  for (let i = 0; i < values.length; i++) {
    const v = unchecked(values[i]);
    if (!(abs<f64>(v) < Infinity)) continue;
    low = min(low, v);
    high = max(high, v);
    if (v !== floor<f64>(v)) whole = false;
  }
  if (!(high >= low)) low = high = 0;
  const packed = new PackedValues();
  packed.words = new Int16Array(values.length);
  // No finer than doubles of this size are: the middle of the range could not be told, and its ends would not fit the word.
  const finest = 1e-15 * max(abs<f64>(low), abs<f64>(high));
  const step = whole && high - low <= STEPS ? 1 : max((high - low) / STEPS, finest);
  packed.step = step > 0 ? step : 1;
  // Centred, so that the range fits a signed word with −32768 left for gaps.
  packed.from = low + (STEPS / 2) * packed.step;
  for (let i = 0; i < values.length; i++) {
    const v = unchecked(values[i]);
    const word = abs<f64>(v) < Infinity ? <i16>(<i32>floor<f64>((v - packed.from) / packed.step + 0.5)) : GAP;
    unchecked((packed.words[i] = word));
  }
  return packed;
}
