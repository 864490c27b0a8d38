import { Sine } from "./alongSine";

const RESYNC = 1024;

/**
 * Adds readings' residuals r of a tone, sorted by the tone's phase.
 * @param intoMoments  Σ 1, Σ r, Σ r², Σ r³, Σ r⁴ of bin i from element 5·i
 * @param intoTime     Σ 1, Σ r, Σ r² by stretch of time and coarse bin of phase, from element 3·(stretch·phases + phase); empty: none are kept
 * @param first      index of the first of them in the record, a multiple of RESYNC
 * @param readings   of the whole record
 * @param stretch    readings in a stretch of time
 * @param phases     coarse bins of phase
 */
export function foldReadings(
  intoMoments: Float64Array,
  intoTime: Float64Array,
  codes: Int32Array,
  first: i32,
  readings: i32,
  tone: Sine,
  stretch: i32,
  phases: i32,
): void {
  const inTime = intoTime.length > 0;
  const bins = intoMoments.length / 5;
  const f = tone.cyclesPerReading;
  const offset = tone.offset;
  const centre = floor<f64>(<f64>(readings - 1) / 2);
  const half = 0.5 / <f64>bins;
  const last = first + codes.length;
  // Both tables then hold all that is added to below, where t lies in 0…1.
  if (!(f >= 0 && f < 1) || bins < 1 || first < 0) unreachable();
  if (inTime && intoTime.length < 3 * phases * ((last - 1) / stretch + 1)) unreachable();
  const lastBin = bins - 1;
  const binsInTurn: f64 = bins;
  const phasesInTurn: f64 = phases;
  const momentsAt = intoMoments.dataStart;
  const timeAt = intoTime.dataStart;
  const stepC = Math.cos(2 * Math.PI * f);
  const stepS = Math.sin(2 * Math.PI * f);
  let row = 3 * phases * (first / stretch);
  let rowEnd = stretch * (first / stretch + 1);
  for (let start = first; start < last; start += RESYNC) {
    const end = min(last, start + RESYNC);
    const turns = f * start;
    const angle = 2 * Math.PI * (turns - floor<f64>(turns)) + tone.phase;
    let c = tone.amplitude * Math.cos(angle);
    let s = tone.amplitude * Math.sin(angle);
    const fromCentre = f * (<f64>start - centre) + half;
    let t = fromCentre - floor<f64>(fromCentre);
    // Of what is negative by next to nothing, rounding makes 1.
    if (t >= 1) t = 0;
    for (let n = start; n < end; n++) {
      const r = <f64>unchecked(codes[n - first]) - offset - c;
      const rr = r * r;
      // By their addresses, which are worked out once a bin and not once a sum.
      const bin = momentsAt + 40 * min(lastBin, <i32>(t * binsInTurn));
      store<f64>(bin, load<f64>(bin) + 1);
      store<f64>(bin, load<f64>(bin, 8) + r, 8);
      store<f64>(bin, load<f64>(bin, 16) + rr, 16);
      store<f64>(bin, load<f64>(bin, 24) + rr * r, 24);
      store<f64>(bin, load<f64>(bin, 32) + rr * rr, 32);
      if (inTime) {
        if (n === rowEnd) {
          row += 3 * phases;
          rowEnd += stretch;
        }
        const cell = timeAt + 8 * (row + 3 * <i32>(t * phasesInTurn));
        store<f64>(cell, load<f64>(cell) + 1);
        store<f64>(cell, load<f64>(cell, 8) + r, 8);
        store<f64>(cell, load<f64>(cell, 16) + rr, 16);
      }
      const next = c * stepC - s * stepS;
      s = s * stepC + c * stepS;
      c = next;
      t += f;
      if (t >= 1) t -= 1;
    }
  }
}

/** Phases of a record's readings, in cycles, 0…1. */
export function readingPhases(cyclesPerReading: f64, readings: i32): Float64Array {
  const phases = new Float64Array(readings);
  for (let n = 0; n < readings; n++) {
    const turns = cyclesPerReading * n;
    phases[n] = turns - floor<f64>(turns);
  }
  return phases;
}

/** Σ gap², the gaps between neighbours on the circle of sorted phases. */
export function squaredGaps(phases: Float64Array): f64 {
  const around = phases[0] + 1 - phases[phases.length - 1];
  let squares = around * around;
  for (let n = 1; n < phases.length; n++) squares += (phases[n] - phases[n - 1]) * (phases[n] - phases[n - 1]);
  return squares;
}
