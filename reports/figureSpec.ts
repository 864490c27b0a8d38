/** Numbers of one column; NaN or null is a gap (not tested, not measured). */
export type Values = ArrayLike<number | null>;

/** x of a series: listed, or evenly spaced. Ascending. */
export type Positions = Values | EvenPositions;
export interface EvenPositions {
  readonly from: number;
  readonly step: number;
  readonly count: number;
}

export interface AxisSpec {
  /** "INL", "code", "frequency". */
  readonly quantity: string;
  /** "LSB", "V", "kHz"; "" for a plain number. */
  readonly unit: string;
  readonly log?: boolean;
  /** The reader may switch between linear and logarithmic. */
  readonly switchable?: boolean;
  /** Fixed ends; otherwise the data, limits and marks decide. */
  readonly range?: readonly [low: number, high: number];
  /** Only whole numbers are labelled. */
  readonly whole?: boolean;
}

/** How a series looks. Each differs in dash or shape as well as in colour: main is a solid line, second dashed, third dotted, reference thin and grey. */
export type SeriesStyle = "main" | "second" | "third" | "reference";

export type SeriesSpec =
  | {
      readonly kind: "line" | "points" | "steps" | "bars";
      readonly name: string;
      readonly style: SeriesStyle;
      readonly x: Positions;
      readonly y: Values;
      /** Points only: ends of an interval at each, drawn as whiskers. */
      readonly low?: Values;
      readonly high?: Values;
    }
  | {
      /** The area between two curves: the smallest and largest of many readings, or an interval. */
      readonly kind: "band";
      readonly name: string;
      readonly style: SeriesStyle;
      readonly x: Positions;
      readonly low: Values;
      readonly high: Values;
    };

/** Something named at a place: a harmonic, the largest INL, a finding. With y it sits on the curve, without it is a flag at the top. */
export interface MarkSpec {
  readonly x: number;
  readonly y?: number;
  /** A few characters: "H3", "2048"; several marks may share a place. */
  readonly label: string;
  /** Spoken and shown in the table: "third harmonic, −82.1 dBc". */
  readonly text?: string;
}

/** A horizontal line: a limit of the bench file, or 0. */
export interface LimitSpec {
  readonly y: number;
  readonly label: string;
}

/** A stretch of x that is hatched and named: "not tested", "readings lost". */
export interface RangeSpec {
  readonly from: number;
  readonly to: number;
  readonly label: string;
}

/**
 * One figure: drawn as an SVG when the page is written (first paint, print, no script, export), made interactive by the page script. Pure data.
 */
export interface FigureSpec {
  /** Unique in the page; letters, digits, hyphens. */
  readonly id: string;
  readonly title: string;
  /** What to see in this capture: computed, one or two sentences. */
  readonly caption: string;
  readonly x: AxisSpec;
  readonly y: AxisSpec;
  readonly series: readonly SeriesSpec[];
  readonly marks?: readonly MarkSpec[];
  readonly limits?: readonly LimitSpec[];
  readonly hatched?: readonly RangeSpec[];
  /** Figures of one group share cursor and zoom along x; null or missing: alone. */
  readonly group?: string | null;
}
