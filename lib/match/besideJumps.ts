import { alongSine } from "../signal/alongSine.ts";
import { fitSine } from "../signal/sineFit.ts";
import { isUsable, type UsableCodes } from "../signal/usableCodes.ts";
import type { JointPhases } from "./jointPhases.ts";
import type { SettledJumps } from "./settledJumps.ts";

/** Lines beside the tone that are taken off, and how many cycles over the record they must stand from it: nearer ones are what a jump makes. */
const MOST_LINES = 3;
const LEAST_APART = 3;

/** Sum of squares that one sine leaves beside its strongest other lines: hum turns the phase of a tone of few cycles as well. */
export function withoutLines(readings: Float64Array, { cycles, offset, amplitude, phases }: JointPhases): number {
  const tone = alongSine({ cyclesPerReading: cycles, offset, amplitude, phase: phases[0]! });
  const left = readings.map((y, n) => y - tone(n));
  for (let i = 0; i < MOST_LINES; i++) {
    const line = fitSine(left);
    if (line === null || Math.abs(line.cyclesPerReading - cycles) * left.length < LEAST_APART) break;
    const sine = alongSine(line);
    for (let n = 0; n < left.length; n++) left[n]! -= sine(n);
  }
  return left.reduce((sum, r) => sum + r * r, 0);
}

/** Sum of squares that a frequency of each piece's own would take up. */
export function bent(codes: Int32Array, fit: SettledJumps, usable: UsableCodes | null): number {
  const { starts, phases, cycles, offset, amplitude, readings } = fit;
  let total = 0;
  starts.forEach((first, k) => {
    const last = (starts[k + 1] ?? codes.length) - 1;
    const middle = (first + last) / 2;
    let [rd, dd] = [0, 0];
    for (let n = first; n <= last; n++) {
      if (!isUsable(codes[n]!, usable)) continue;
      const turns = cycles * n;
      const theta = 2 * Math.PI * (turns - Math.floor(turns)) + phases[k]!;
      const d = -amplitude * Math.sin(theta) * (n - middle);
      rd += (readings[n]! - offset - amplitude * Math.cos(theta)) * d;
      dd += d * d;
    }
    if (dd > 0) total += (rd * rd) / dd;
  });
  return total;
}
