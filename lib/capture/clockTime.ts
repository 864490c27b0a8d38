import type { Seconds } from "../bench/units.ts";

export interface ClockTime {
  readonly whole: Seconds;
  readonly fraction: Seconds;
  readonly resolution: Seconds;
  readonly dated: boolean;
}

const CLOCK = String.raw`(\d{1,2}):(\d{2})(?::(\d{2}))?(?:[.,:](\d{1,9})(?:[,.](\d{3}))?)?\s*([AaPp][Mm])?`;
const DATE = String.raw`(?:(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})|(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})|(\d{4})(\d{2})(\d{2})(?=[T_])|(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]* +\d{1,2}(?: +\d{4})?(?= ))`;
const PATTERN = new RegExp(String.raw`^[\[(<]?(?:${DATE}[T _,]*)?${CLOCK}\s*(Z|UTC|[+-]\d{2}:?\d{2})?[\])>]?$`);

/**
 * A clock time, with or without a date: `12:03:55.120`, `00:00:12.345,678`, `2024-05-01T12:03:55.120Z`, `01.05.2024 12:03:55`, `3:05:09 PM`.
 * @returns whole seconds since midnight, or since 1970 where a date is given, with the fraction apart so that no digit is lost; and the smallest step
 *   its digits can show. Null when it is no clock time.
 */
export function parseClock(text: string): ClockTime | null {
  if (!text.includes(":")) return null;
  const m = PATTERN.exec(text.trim());
  if (m === null) return null;
  const hasSeconds = m[12] !== undefined;
  // "12:03" alone is as likely a ratio or a key with a value; a clock shows seconds or a date.
  const dated = m[1] !== undefined || m[4] !== undefined || m[7] !== undefined;
  if (!hasSeconds && !dated) return null;
  let hours = Number(m[10]);
  const minutes = Number(m[11]);
  const seconds = hasSeconds ? Number(m[12]) : 0;
  if (hours > 24 || minutes > 59 || seconds > 60) return null;
  const half = m[15]?.toLowerCase();
  if (half === "pm" && hours < 12) hours += 12;
  if (half === "am" && hours === 12) hours = 0;
  const digits = (m[13] ?? "") + (m[14] ?? "");
  const fraction = digits === "" ? 0 : Number(`0.${digits}`);
  let day = 0;
  if (m[1] !== undefined) day = Date.UTC(Number(m[1]), Number(m[2]) - 1, Number(m[3])) / 1000;
  else if (m[4] !== undefined) day = Date.UTC(Number(m[6]), ...dayAndMonth(Number(m[4]), Number(m[5]))) / 1000;
  else if (m[7] !== undefined) day = Date.UTC(Number(m[7]), Number(m[8]) - 1, Number(m[9])) / 1000;
  return {
    whole: day + hours * 3600 + minutes * 60 + seconds,
    fraction,
    resolution: digits === "" ? (hasSeconds ? 1 : 60) : 10 ** -digits.length,
    dated,
  };
}

/** 01.05.2024 is day first; 05/31/2024 can only be month first. Differences in time do not depend on it within a day. */
function dayAndMonth(a: number, b: number): [month: number, day: number] {
  return b > 12 ? [a - 1, b] : [b - 1, a];
}
