import type { Stretch } from "../capture/record.ts";

/** Numbers as they stand in a finding's sentence: three significant digits, SI prefix, plain words for places. */
export const say = {
  volts: (v: number): string => prefixed(v, "V"),
  hertz: (f: number): string => prefixed(f, "Hz", 5),
  seconds: (t: number): string => prefixed(t, "s"),
  /** A ratio as per cent, or parts per million where that is shorter. */
  ratio: (r: number): string =>
    Math.abs(r) >= 0.001 || r === 0 ? `${significant(100 * r, 2)} %` : `${significant(1e6 * r, 2)} ppm`,
  lsb: (x: number): string => `${significant(x, 3)} LSB`,
  degrees: (radians: number): string => `${significant((180 / Math.PI) * radians, 3)}°`,
  number: (x: number): string => significant(x, 3),
  /** A count with thin groups of thousands. */
  count: (n: number): string =>
    String(Math.round(n))
      .replace("-", "−")
      .replace(/\B(?=(\d{3})+(?!\d))/g, " "),
  plural: (n: number, one: string, many = `${one}s`): string => `${say.count(n)} ${n === 1 ? one : many}`,
  /** "reading 17", "readings 17 to 40, 900 and 2 more" */
  places: (stretches: readonly Stretch[], most = 3): string => {
    const shown = stretches
      .slice(0, most)
      .map(([a, b]) => (a === b ? say.count(a) : `${say.count(a)} to ${say.count(b)}`));
    const rest = stretches.length - shown.length;
    const single = stretches.length === 1 && stretches[0]![0] === stretches[0]![1];
    return `${single ? "reading" : "readings"} ${shown.join(", ")}${rest > 0 ? ` and ${say.count(rest)} more` : ""}`;
  },
};

/** Digits as far as they mean something, without an exponent for ordinary sizes. */
function significant(x: number, digits: number): string {
  if (x === 0 || !Number.isFinite(x)) return String(x);
  const text = Number(x.toPrecision(Math.max(digits, Math.ceil(Math.log10(Math.abs(x) + 1e-300))))).toString();
  return text.replace("-", "−");
}

const PREFIXES: readonly (readonly [number, string])[] = [
  [1e9, "G"],
  [1e6, "M"],
  [1e3, "k"],
  [1, ""],
  [1e-3, "m"],
  [1e-6, "µ"],
  [1e-9, "n"],
];

function prefixed(x: number, unit: string, digits = 3): string {
  if (x === 0) return `0 ${unit}`;
  const [factor, prefix] = PREFIXES.find(([f]) => Math.abs(x) >= f * 0.9999) ?? PREFIXES.at(-1)!;
  return `${significant(x / factor, digits)} ${prefix}${unit}`;
}
