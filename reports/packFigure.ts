import { kernels } from "../lib/kernels/kernels.generated.js";
import type { EvenPositions, FigureSpec, Positions, Values } from "./figureSpec.ts";
import {
  columnOf,
  type PackedFigure,
  type PackedPositions,
  type PackedSeries,
  type PackedValues,
} from "./packedFigure.ts";

/** A figure as it travels inside the page; unpackFigure is the inverse. */
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

/** Packs a column; both the page writer and the page run on little-endian machines only, as every browser does. */
export function packValues(values: Values): PackedValues {
  const { from, step, words } = kernels.packedValues(columnOf(values));
  return { from, step, i16: base64(new Uint8Array(words.buffer)) };
}

/** Positions need their full width: a harmonic's frequency is read off the cursor. */
function packPositions(x: Positions): PackedPositions {
  if ("from" in x) return x;
  const evenly = even(x);
  if (evenly !== null) return evenly;
  return { f32: base64(new Uint8Array(new Float32Array(columnOf(x)).buffer)) };
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

function base64(bytes: Uint8Array): string {
  let text = "";
  // Spread would go through an iterator, byte by byte.
  for (let i = 0; i < bytes.length; i += 0x8000)
    text += String.fromCharCode.apply(null, bytes.subarray(i, i + 0x8000) as unknown as number[]);
  return btoa(text);
}
