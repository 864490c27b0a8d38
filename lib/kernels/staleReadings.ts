import { AlongSine, BLOCK, Sine } from "./alongSine";
import { isUsable, UsableCodes } from "./usableCodes";

/**
 * Readings that equal the one before and stand further than `far` from the sine, where that one is twice as close: their places in `codes`.
 * @param first  number of the first reading
 */
export function staleAlong(codes: Int32Array, sine: Sine, first: f64, far: f64, usable: UsableCodes): Int32Array {
  const along = new AlongSine(sine, first);
  const found = new Int32Array(codes.length);
  let count = 0;
  let before: f64 = 0;
  let codeBefore = 0;
  for (let start = 0; start < codes.length; start += BLOCK) {
    const models = along.ahead();
    const end = min(codes.length, start + BLOCK);
    for (let i = start; i < end; i++) {
      const code = unchecked(codes[i]);
      const off = abs<f64>(code - unchecked(models[i - start]));
      if (off > far && i > 0 && before < 0.5 * off && code === codeBefore && isUsable(code, usable)) found[count++] = i;
      before = off;
      codeBefore = code;
    }
  }
  return found.slice(0, count);
}
