import type { EvenPositions, FigureSpec, Positions, SeriesSpec, Values } from "./figureSpec.ts";

/**
 * A column as it travels inside the page: whole steps from `from`, 16 bits each, base64; −32768 is a gap. A plot is at most a few thousand
 * pixels, so a range cut into 65 000 steps shows everything that a listed number would at a third of the size; whole numbers survive exactly.
 */
export type PackedValues =
  | { readonly from: number; readonly step: number; readonly i16: string }
  | { readonly f32: string };
type PackedPositions = PackedValues | EvenPositions;

type PackedSeries = {
  readonly kind: SeriesSpec["kind"];
  readonly name: string;
  readonly style: SeriesSpec["style"];
  readonly x: PackedPositions;
  readonly y?: PackedValues;
  readonly low?: PackedValues;
  readonly high?: PackedValues;
};

/** A figure's data as JSON inside the page. */
export type PackedFigure = Omit<FigureSpec, "series"> & { readonly series: readonly PackedSeries[] };

const GAP = -32768;

function base64(bytes: Uint8Array): string {
  let text = "";
  // Spread would go through an iterator, byte by byte.
  for (let i = 0; i < bytes.length; i += 0x8000)
    text += String.fromCharCode.apply(null, bytes.subarray(i, i + 0x8000) as unknown as number[]);
  return btoa(text);
}

function fromBase64(text: string): Uint8Array {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return bytes;
}

/** Packs a column; both the page writer and the page run on little-endian machines only, as every browser does. */
export function packValues(values: Values): PackedValues {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let whole = true;
  for (let i = 0; i < values.length; i++) {
    const v = values[i];
    if (v === null || !(v! > Number.NEGATIVE_INFINITY && v! < Number.POSITIVE_INFINITY)) continue;
    if (v! < low) low = v!;
    if (v! > high) high = v!;
    if (whole && v !== Math.floor(v!)) whole = false;
  }
  if (!(high >= low)) [low, high] = [0, 0];
  // No finer than doubles of this size are: the middle of the range could not be told, and its ends would not fit the word.
  const finest = 1e-15 * Math.max(Math.abs(low), Math.abs(high));
  const step = whole && high - low <= 65_000 ? 1 : Math.max((high - low) / 65_000, finest) || 1;
  // Centred, so that the range fits a signed word with −32768 left for gaps.
  const from = high >= low ? low + 32_500 * step : 0;
  const packed = new Int16Array(values.length);
  for (let i = 0; i < values.length; i++) {
    const v = values[i];
    packed[i] =
      v === null || !(v! > Number.NEGATIVE_INFINITY && v! < Number.POSITIVE_INFINITY)
        ? GAP
        : Math.round((v! - from) / step);
  }
  return { from, step, i16: base64(new Uint8Array(packed.buffer)) };
}

/** Positions need their full width: a harmonic's frequency is read off the cursor. */
function packPositions(x: Positions): PackedPositions {
  if ("from" in x) return x;
  const evenly = even(x);
  if (evenly !== null) return evenly;
  const packed = new Float32Array(x.length);
  for (let i = 0; i < x.length; i++) packed[i] = x[i] ?? Number.NaN;
  return { f32: base64(new Uint8Array(packed.buffer)) };
}

function even(x: Values): EvenPositions | null {
  const count = x.length;
  if (count < 2) return null;
  const from = x[0] as number;
  const step = ((x[count - 1] as number) - from) / (count - 1);
  for (let i = 0; i < count; i++) {
    if (!(Math.abs((x[i] as number) - (from + i * step)) <= 1e-6 * Math.abs(step))) return null;
  }
  return { from, step, count };
}

export function unpackValues(packed: PackedValues): Float64Array {
  const bytes = fromBase64("f32" in packed ? packed.f32 : packed.i16);
  if ("f32" in packed) return Float64Array.from(new Float32Array(bytes.buffer));
  const words = new Int16Array(bytes.buffer);
  const values = new Float64Array(words.length);
  for (let i = 0; i < words.length; i++)
    values[i] = words[i] === GAP ? Number.NaN : packed.from + words[i]! * packed.step;
  return values;
}

/** How many positions there are. */
export function countOf(x: Positions): number {
  return "from" in x ? x.count : x.length;
}

/** Every x of a series as a plain column. */
export function positionsOf(x: Positions): Float64Array {
  if (x instanceof Float64Array) return x;
  const count = countOf(x);
  const positions = new Float64Array(count);
  if ("from" in x) {
    const { from, step } = x;
    for (let i = 0; i < count; i++) positions[i] = from + i * step;
  } else for (let i = 0; i < count; i++) positions[i] = x[i] ?? Number.NaN;
  return positions;
}

export function packFigure(spec: FigureSpec): PackedFigure {
  return {
    ...spec,
    series: spec.series.map((s): PackedSeries => {
      const base = { kind: s.kind, name: s.name, style: s.style, x: packPositions(s.x) };
      if (s.kind === "band") return { ...base, low: packValues(s.low), high: packValues(s.high) };
      return {
        ...base,
        y: packValues(s.y),
        ...(s.low && s.high ? { low: packValues(s.low), high: packValues(s.high) } : {}),
      };
    }),
  };
}

/** The inverse of packFigure, run in the page. */
export function unpackFigure(packed: PackedFigure): FigureSpec {
  return {
    ...packed,
    series: packed.series.map((s): SeriesSpec => {
      const x: Positions = "from" in s.x && "count" in s.x ? s.x : unpackValues(s.x as PackedValues);
      if (s.kind === "band")
        return {
          kind: "band",
          name: s.name,
          style: s.style,
          x,
          low: unpackValues(s.low!),
          high: unpackValues(s.high!),
        };
      return {
        kind: s.kind,
        name: s.name,
        style: s.style,
        x,
        y: unpackValues(s.y!),
        ...(s.low && s.high ? { low: unpackValues(s.low), high: unpackValues(s.high) } : {}),
      };
    }),
  };
}
