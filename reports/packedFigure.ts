import type { EvenPositions, FigureSpec, Positions, SeriesSpec, Values } from "./figureSpec.ts";

/**
 * A column as it travels inside the page: whole steps from `from`, 16 bits each, base64; −32768 is a gap. A plot is at most a few thousand
 * pixels, so a range cut into 65 000 steps shows everything that a listed number would at a third of the size; whole numbers survive exactly.
 */
export type PackedValues =
  | { readonly from: number; readonly step: number; readonly i16: string }
  | { readonly f32: string };
export type PackedPositions = PackedValues | EvenPositions;

export type PackedSeries = {
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

function fromBase64(text: string): Uint8Array {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return bytes;
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

/** Numbers as a plain column: NaN for a gap. */
export function columnOf(values: Values): Float64Array {
  if (values instanceof Float64Array) return values;
  const column = new Float64Array(values.length);
  for (let i = 0; i < column.length; i++) column[i] = values[i] ?? Number.NaN;
  return column;
}

/** Every x of a series as a plain column. */
export function positionsOf(x: Positions): Float64Array {
  if (!("from" in x)) return columnOf(x);
  const { from, step, count } = x;
  const positions = new Float64Array(count);
  for (let i = 0; i < count; i++) positions[i] = from + i * step;
  return positions;
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
