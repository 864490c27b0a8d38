import { kernels } from "../kernels/kernels.generated.js";
import { foldedFrequency } from "../match/foldedFrequency.ts";
import type { SineFit } from "../signal/sineFit.ts";
import { symmetricSolve } from "../signal/symmetricSolve.ts";

/** Harmonics 2…10, as IEEE Std 1241 leaves the number to the tester and data sheets mostly choose. */
export const HIGHEST_ORDER = 10;

/** Where a harmonic lies, and whether this record can tell it apart. */
export interface HarmonicPlace {
  readonly order: number;
  /** Cycles per reading after folding, 0…½. */
  readonly frequency: number;
  /**
   * "kept": measured; "hidden": within a resolution cell of DC or the tone; "shared": within a cell of a lower harmonic that stands for
   * both.
   */
  readonly state: "kept" | "hidden" | "shared";
}

/** One harmonic in the residual: a·cos hθ + b·sin hθ, θ = 2π·f·(n − centre). */
export interface HarmonicLine {
  readonly order: number;
  readonly frequency: number;
  readonly a: number;
  readonly b: number;
  /** Var a + var b for residuals of unit variance. */
  readonly spread: number;
  /** Half a cycle a reading: only one of two components can be seen, so that its power stands for both on average. */
  readonly atHalf: boolean;
}

/** Lines side by side, as kernels take them. */
export interface HarmonicParts {
  readonly order: Int32Array;
  readonly a: Float64Array;
  readonly b: Float64Array;
}

export function harmonicParts(lines: readonly HarmonicLine[]): HarmonicParts {
  return {
    order: Int32Array.from(lines, (l) => l.order),
    a: Float64Array.from(lines, (l) => l.a),
    b: Float64Array.from(lines, (l) => l.b),
  };
}

export interface HarmonicFit {
  readonly lines: readonly HarmonicLine[];
  /** What the harmonics take off the residual sum of squares. */
  readonly explained: number;
  /** Parameters of tone and harmonics together. */
  readonly parameters: number;
  /** Var of the tone's two components together for residuals of unit variance, harmonics fitted beside it. */
  readonly toneSpread: number;
}

/**
 * Places of harmonics 2…10 of a tone. A resolution cell is 1/M cycles a reading.
 * @param cyclesPerReading  the tone, 0…½
 * @param readings          M
 */
export function harmonicPlaces(cyclesPerReading: number, readings: number): HarmonicPlace[] {
  // A coherent record puts neighbours a whole cell apart; the fitted frequency's own uncertainty, ten times as large at order 10, must not
  // turn that into less than one.
  const cell = 0.9 / readings;
  const places: HarmonicPlace[] = [];
  for (let order = 2; order <= HIGHEST_ORDER; order++) {
    const frequency = foldedFrequency(order * cyclesPerReading);
    const hidden = frequency < cell || Math.abs(frequency - cyclesPerReading) < cell;
    const shared = places.some((p) => p.state === "kept" && Math.abs(p.frequency - frequency) < cell);
    places.push({ order, frequency, state: hidden ? "hidden" : shared ? "shared" : "kept" });
  }
  return places;
}

/** Up to so many readings the frequency's own column is in the fit: its correlation with a harmonic falls as 1/M. */
const SHORT = 4096;

/**
 * One linear least-squares fit of the kept harmonics to the sine fit's residual, jointly with DC, tone and (in short records) frequency,
 * whose own sums the sine fit has
 * made zero.
 * @param sums   Σ r·cos hθ and Σ r·sin hθ by order: [order] → value
 * @returns null when the columns cannot be told apart
 * Source: METHODS §2; least squares.
 */
export function fitHarmonics(
  fit: SineFit,
  readings: number,
  places: readonly HarmonicPlace[],
  sums: { readonly cos: Float64Array; readonly sin: Float64Array },
): HarmonicFit | null {
  const half = (p: HarmonicPlace): boolean => Math.abs(p.frequency - 0.5) * readings < 0.25;
  const kept = places.filter((p) => p.state === "kept");
  // Columns: DC, cos θ, sin θ, [frequency], then each harmonic's cosine and sine.
  const columns: Column[] = [
    { order: 0, odd: false, slope: false },
    { order: 1, odd: false, slope: false },
    { order: 1, odd: true, slope: false },
  ];
  const withSlope = fit.parameters === 4 && readings <= SHORT;
  if (withSlope) columns.push({ order: 1, odd: false, slope: true });
  for (const p of kept) {
    // At half a cycle a reading one of the pair is zero at every reading: the sine where the centre is a reading, else the cosine.
    if (!half(p) || readings % 2 === 1) columns.push({ order: p.order, odd: false, slope: false });
    if (!half(p) || readings % 2 === 0) columns.push({ order: p.order, odd: true, slope: false });
  }
  const n = columns.length;
  const H = products(fit, readings, columns);
  const g = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const { order, odd } = columns[i]!;
    if (order >= 2) g[i] = odd ? sums.sin[order]! : sums.cos[order]!;
  }
  const solved = symmetricSolve(H, g);
  if (solved === null) return null;
  let explained = 0;
  for (let i = 0; i < n; i++) explained += g[i]! * solved.x[i]!;
  const lines = kept.map((p): HarmonicLine => {
    let a = 0;
    let b = 0;
    let spread = 0;
    columns.forEach(({ order, odd }, i) => {
      if (order !== p.order) return;
      if (odd) b = solved.x[i]!;
      else a = solved.x[i]!;
      spread += solved.inverse[i * n + i]!;
    });
    return { order: p.order, frequency: p.frequency, a, b, spread, atHalf: half(p) };
  });
  const halves = lines.filter((l) => l.atHalf).length;
  const toneSpread = solved.inverse[n + 1]! + solved.inverse[2 * n + 2]!;
  return { lines, explained, parameters: fit.parameters + 2 * lines.length - halves, toneSpread };
}

interface Column {
  readonly order: number;
  readonly odd: boolean;
  readonly slope: boolean;
}

/** Σ column·column over the record, n×n. */
function products(fit: SineFit, readings: number, columns: readonly Column[]): Float64Array {
  const orders = Int32Array.from(columns, (c) => c.order);
  const kinds = Int32Array.from(columns, (c) => (c.slope ? 2 : c.odd ? 1 : 0));
  return kernels.harmonicProducts(fit, readings, orders, kinds);
}
