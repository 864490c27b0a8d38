/** A value with its interval at about 95 %, as figures and limit rows carry it. */
export interface Interval {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly uncertainty: number | null;
  readonly unit: string;
}

/** A value made ready for a reader, in parts, so that a table can put each in its own column. */
export interface Shown {
  /** "10.412", "≤ 0.21", or "–" where nothing is known. */
  readonly value: string;
  /** "0.030", "+0.12 −0.05", or "" where no interval is known. */
  readonly spread: string;
  readonly unit: string;
}

const MINUS = "−";

/**
 * Decimal places that show an uncertainty to two significant digits; negative where these lie left of the decimal point.
 * Source: JCGM 100:2008, 7.2.6.
 * @example placeOf(0.0304) // 3
 * @example placeOf(0.0996) // 2, because it rounds to 0.10
 */
export function placeOf(uncertainty: number): number {
  if (!(uncertainty > 0 && uncertainty < Number.POSITIVE_INFINITY)) return 0;
  const exponent = Number(uncertainty.toExponential(1).split("e")[1]);
  return Math.min(15, 1 - exponent);
}

/**
 * A number to a decimal place, with a true minus sign and no negative zero.
 * @param place  decimal places; −1 rounds to tens
 * @example toPlace(-0.04, 1) // "0.0"
 */
export function toPlace(value: number, place: number, signed = false): string {
  if (!Number.isFinite(value)) return "–";
  const scale = 10 ** -place;
  const text = place >= 0 ? Math.abs(value).toFixed(place) : (Math.round(Math.abs(value) / scale) * scale).toFixed(0);
  const zero = !/[1-9]/.test(text);
  const sign = zero ? "" : value < 0 ? MINUS : signed ? "+" : "";
  return sign + grouped(text);
}

/** Digits before the decimal point in threes, with narrow no-break spaces, from five digits on. */
function grouped(text: string): string {
  const point = text.indexOf(".");
  const whole = point < 0 ? text : text.slice(0, point);
  if (whole.length <= 4) return text;
  return whole.replace(/\B(?=(\d{3})+$)/g, "\u202f") + text.slice(whole.length);
}

/** A number of which no uncertainty is known, to so many significant digits; trailing zeros are kept off. */
export function plain(value: number, digits = 4): string {
  if (!Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const rounded = Number(value.toPrecision(digits));
  const size = Math.abs(rounded);
  if (size >= 1e9 || size < 1e-6) {
    const [mantissa = "", exponent = "0"] = rounded.toExponential().split("e");
    return `${mantissa.replace("-", MINUS)}·10^${exponent.replace("-", MINUS).replace("+", "")}`;
  }
  const place = Math.max(0, digits - 1 - Math.floor(Math.log10(size)));
  const text = rounded.toFixed(Math.min(place, 15));
  return toPlaceText(text.includes(".") ? text.replace(/\.?0+$/, "") : text);
}

function toPlaceText(text: string): string {
  return text.startsWith("-") ? MINUS + grouped(text.slice(1)) : grouped(text);
}

/** A whole number in groups of three from five digits on: 16 384 readings. */
export function counted(n: number, noun?: string): string {
  const digits = toPlaceText(Math.round(n).toFixed(0));
  if (noun === undefined) return digits;
  return `${digits} ${n === 1 ? noun : `${noun}s`}`;
}

/** Thousands in a sentence, written with blanks, kept together at the end of a line. */
export function unbroken(sentence: string): string {
  return sentence.replace(/(?<=\d) (?=\d{3}(?!\d))/g, "\u202f");
}

const PREFIXED = new Set(["V", "Hz", "s", "Ω", "F"]);
const PREFIXES: readonly (readonly [exponent: number, prefix: string])[] = [
  [9, "G"],
  [6, "M"],
  [3, "k"],
  [0, ""],
  [-3, "m"],
  [-6, "µ"],
  [-9, "n"],
  [-12, "p"],
];

/** The SI prefix that shows `size` best: divide by `factor`, write `unit`. LSB, dB, % and bits take none. */
export function prefixFor(size: number, unit: string): { factor: number; unit: string } {
  if (!PREFIXED.has(unit) || !(Math.abs(size) > 0)) return { factor: 1, unit };
  const found =
    PREFIXES.find(([exponent]) => Math.abs(size) >= 0.99999 * 10 ** exponent) ?? (PREFIXES.at(-1) as [number, string]);
  return { factor: 10 ** found[0], unit: found[1] + unit };
}

/** A quantity of which no uncertainty is known: "2.5 V", "997 Hz", "4.7 kΩ". */
export function quantity(value: number, unit: string, digits = 4): string {
  const { factor, unit: prefixed } = prefixFor(value, unit);
  return `${plain(value / factor, digits)}${prefixed === "" ? "" : `\u00a0${prefixed}`}`;
}

/**
 * A value rounded by its own uncertainty: U to two significant digits, the value to the same place. An interval that is not symmetric shows both
 * sides; one end alone shows as a bound.
 * Source: JCGM 100:2008, 7.2.6.
 * @param options.signed  write a plus before positive values (offsets, INL)
 * @example shown({ value: 10.4119, low: 10.3815, high: 10.4423, uncertainty: 0.0304, unit: "bit" }) // value "10.412", spread "0.030"
 */
export function shown(interval: Interval, options: { signed?: boolean } = {}): Shown {
  const signed = options.signed ?? false;
  const { value, low, high } = interval;
  const size = Math.max(Math.abs(value ?? 0), Math.abs(low ?? 0), Math.abs(high ?? 0));
  const { factor, unit } = prefixFor(value === null || value === 0 ? size : value, interval.unit);
  const bare = (x: number): string => (signed && x > 0 ? "+" : "") + plain(x / factor, 3);
  if (value === null) {
    if (low !== null && high !== null)
      return { value: between(low / factor, high / factor, unit, signed), spread: "", unit };
    if (low !== null) return { value: `≥ ${bare(low)}`, spread: "", unit };
    if (high !== null) return { value: `≤ ${bare(high)}`, spread: "", unit };
    return { value: "–", spread: "", unit: interval.unit };
  }
  const below = low === null ? null : (value - low) / factor;
  const above = high === null ? null : (high - value) / factor;
  const v = value / factor;
  if (below === null && above === null) {
    if (interval.uncertainty === null) return { value: (signed && v > 0 ? "+" : "") + plain(v), spread: "", unit };
    return symmetric(v, interval.uncertainty / factor, unit, signed);
  }
  if (below === null || above === null) {
    const known = (below ?? above) as number;
    const place = placeOf(Math.abs(known));
    const spread = below === null ? `+${toPlace(known, place)}, open below` : `−${toPlace(known, place)}, open above`;
    return { value: toPlace(v, place, signed), spread, unit };
  }
  const larger = Math.max(Math.abs(below), Math.abs(above));
  const whole = unit === "codes";
  const smaller = Math.min(below, above);
  // Within a tenth of each other the two sides are one ±: the difference would not show in two digits of U.
  if (smaller >= 0.9 * larger) return symmetric(v, (below + above) / 2, unit, signed);
  // What is counted has no decimals.
  const place = whole ? Math.min(0, placeOf(larger)) : placeOf(larger);
  if (smaller < 0) {
    return {
      value: toPlace(v, place, signed),
      spread: `${toPlace((low as number) / factor, place, signed)} … ${toPlace((high as number) / factor, place, signed)}`,
      unit,
    };
  }
  return {
    value: toPlace(v, place, signed),
    spread: `+${toPlace(above, place)} ${MINUS}${toPlace(below, place)}`,
    unit,
  };
}

/** Two ends without a value: three digits of their distance, each end rounded outwards, so that what is shown holds what was found. */
function between(low: number, high: number, unit: string, signed: boolean): string {
  if (!(high > low)) return (signed && low > 0 ? "+" : "") + plain(low, 3);
  const place = unit === "codes" ? 0 : placeOf(high - low) + 1;
  const step = 10 ** -place;
  // A ten-thousandth of the step is the arithmetic's, not the measurement's.
  const outward = [Math.floor(low / step + 1e-4) * step, Math.ceil(high / step - 1e-4) * step] as const;
  return outward.map((end) => toPlace(end, place, signed)).join(" … ");
}

function symmetric(value: number, u: number, unit: string, signed: boolean): Shown {
  if (!(u > 0)) return { value: (signed && value > 0 ? "+" : "") + plain(value, 6), spread: "0", unit };
  const place = placeOf(u);
  return { value: toPlace(value, place, signed), spread: toPlace(u, place), unit };
}

/** The same in one run of text: "10.412 ± 0.030 bit", "≤ 0.21 LSB", "+1.90 +0.12 −0.05 LSB". */
export function shownText(interval: Interval, options: { signed?: boolean } = {}): string {
  const { value, spread, unit } = shown(interval, options);
  const suffix = unit === "" ? "" : `\u00a0${unit}`;
  if (spread === "") return `${value}${suffix}`;
  if (/[+−…]/.test(spread)) return `${value} (${spread})${suffix}`;
  return `${value} ±\u00a0${spread}${suffix}`;
}
