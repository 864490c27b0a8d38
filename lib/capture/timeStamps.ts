import type { Hertz, Seconds } from "../bench/units.ts";
import type { TimeUnit } from "./columnRoles.ts";
import type { TimeStamps } from "./log.ts";
import { stampTick } from "./stampTick.ts";

const DAY: Seconds = 86400;

/**
 * Time stamps as they were logged, made into seconds since the first one. A counter that rolled over (16, 24, 32 bits; midnight) is unrolled; a counter
 * that was set back, as by a restart, is left as it is and counted.
 * @param raw   stamps in the unit of the log, NaN where a reading had none; changed in place
 * @param unit  of the log; ticks need tickRate
 * @param digit smallest step the stamps' digits can show, in the unit of the log
 */
export function timeStamps(
  raw: Float64Array,
  unit: Exclude<TimeUnit, "unknown">,
  name: string,
  digit: number,
  tickRate?: Hertz,
): { stamps: TimeStamps | null; setBack: number } {
  // Divided, not multiplied: 20 µs is 0.00002 s to the last bit.
  const perSecond = unit === "ticks" ? (tickRate ?? Number.NaN) : PER_SECOND[unit];
  let first = Number.NaN;
  let last = Number.NaN;
  let largest = 0;
  let whole = true;
  for (let i = 0; i < raw.length; i++) {
    const v = raw[i]!;
    if (Number.isNaN(v)) continue;
    if (Number.isNaN(first)) first = v;
    if (v > largest) largest = v;
    if (whole && !Number.isInteger(v)) whole = false;
  }
  if (Number.isNaN(first)) return { stamps: null, setBack: 0 };
  const modulus = rolloverOf(unit, largest, whole);
  let turns = 0;
  let setBack = 0;
  let previous = Number.NaN;
  let typical = 0;
  for (let i = 0; i < raw.length; i++) {
    const v = raw[i]!;
    if (Number.isNaN(v)) continue;
    if (v < previous) {
      const step = v + modulus - previous;
      // A rollover goes on with about the step it had; a restart begins anew.
      if (modulus > 0 && step <= Math.max(8 * typical, modulus / 16)) turns++;
      else setBack++;
    } else if (!Number.isNaN(previous)) {
      typical = typical === 0 ? v - previous : Math.max(typical * 0.99, Math.min(v - previous, typical * 2));
    }
    previous = v;
    raw[i] = (v - first + turns * modulus) / perSecond;
    last = v;
  }
  if (Number.isNaN(perSecond) || Number.isNaN(last)) return { stamps: null, setBack };
  return {
    stamps: { seconds: raw, resolution: stampTick(raw, digit / perSecond), name, unit, rollovers: turns },
    setBack,
  };
}

const PER_SECOND = { s: 1, ms: 1e3, us: 1e6, ns: 1e9, clock: 1 } as const;

/** Where a counter of this unit starts again from zero; 0 when it does not. */
function rolloverOf(unit: TimeUnit, largest: number, whole: boolean): number {
  if (unit === "clock") return DAY;
  if (!whole) return 0;
  for (const bits of [16, 24, 32]) {
    const size = 2 ** bits;
    // Only a counter that came near its end can have rolled over.
    if (largest < size && largest > size / 2) return size;
  }
  return 0;
}
