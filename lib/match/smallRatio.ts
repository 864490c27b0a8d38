/** p/q with the smallest q that the phases follow through the whole record to a hundredth of their spacing; null where q is not well below the readings. */
export function smallRatio(cycles: number, readings: number, doubt: number): readonly [number, number] | null {
  // A frequency taken at random comes as near to some ratio once in about 20·(readings/q) records: many visits to each phase make it no accident.
  const most = Math.max(Math.floor(readings / 16), Math.min(100, Math.floor(readings / 8)));
  // Continued fraction: its convergents are the best ratios of their size.
  let [p0, q0, p1, q1] = [0, 1, 1, 0];
  let x = cycles;
  for (let i = 0; i < 40; i++) {
    const whole = Math.floor(x);
    [p0, q0, p1, q1] = [p1, q1, whole * p1 + p0, whole * q1 + q0];
    if (q1 > most) return null;
    const drift = Math.abs(cycles - p1 / q1) * readings * q1;
    if (drift < 0.01 + doubt * readings * q1 && doubt * readings * q1 < 0.05) return q1 > 1 ? [p1, q1] : null;
    const rest = x - whole;
    if (rest < 1e-12) return null;
    x = 1 / rest;
  }
  return null;
}
