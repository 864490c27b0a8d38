/** The kinds of quantity that a bench file holds, and how each is written. */
export interface DimensionEntry {
  /** With its article, for messages: "a voltage". */
  readonly name: string;
  /** Symbol of the base unit; a bare number is in this unit. "" where the base is a plain number. */
  readonly base: string;
  readonly example: string;
  /** May sensibly be negative. */
  readonly signed: boolean;
  /**
   * Which prefixes a number may carry: "all" also alone ("4.7k"); "units" only with a unit; "small" as "units" but never mega (a megavolt in a bench file is a
   * millivolt mistyped); "none".
   */
  readonly prefixes: "all" | "units" | "small" | "none";
  /** Letter that may stand for the point by itself: 2R2, 3V3. */
  readonly mark?: string;
  readonly units: Readonly<Record<string, UnitEntry>>;
}

/** One unit as factor·10^exponent base units; the power of ten apart, so that 20 ppm stays the double nearest 0.00002. */
export interface UnitEntry {
  readonly factor: number;
  readonly exponent: number;
  /** Takes SI prefixes. */
  readonly prefixed: boolean;
}

const si: UnitEntry = { factor: 1, exponent: 0, prefixed: true };
const plain = (factor: number): UnitEntry => ({ factor, exponent: 0, prefixed: false });
const power = (exponent: number): UnitEntry => ({ factor: 1, exponent, prefixed: false });

const HERTZ = { Hz: si, hertz: si, Hertz: si } as const;
const OHM = { "\u03a9": si, "\u2126": si, ohm: si, ohms: si, Ohm: si, R: si } as const;

const TABLE = {
  voltage: {
    name: "a voltage",
    base: "V",
    example: "1.25 V",
    signed: true,
    prefixes: "small",
    mark: "V",
    units: { V: si, volt: si, volts: si },
  },
  frequency: {
    name: "a frequency",
    base: "Hz",
    example: "997 Hz",
    signed: false,
    prefixes: "all",
    units: HERTZ,
  },
  rate: {
    name: "a sample rate",
    base: "Hz",
    example: "50 kHz",
    signed: false,
    prefixes: "all",
    units: { ...HERTZ, "S/s": si, "Sa/s": si, SPS: si, sps: si, "readings/s": plain(1), "1/s": plain(1) },
  },
  time: {
    name: "a time",
    base: "s",
    example: "2 s",
    signed: false,
    prefixes: "small",
    units: { s: si, sec: plain(1), second: plain(1), seconds: plain(1), min: plain(60), h: plain(3600) },
  },
  resistance: {
    name: "a resistance",
    base: "\u03a9",
    example: "4.7 k\u03a9",
    signed: false,
    prefixes: "all",
    mark: "R",
    units: OHM,
  },
  capacitance: {
    name: "a capacitance",
    base: "F",
    example: "8 pF",
    signed: false,
    prefixes: "all",
    mark: "F",
    units: { F: si, farad: si, farads: si },
  },
  ratio: {
    name: "a ratio",
    base: "",
    example: "0.5 % or 20 ppm",
    signed: false,
    prefixes: "none",
    units: { "%": power(-2), percent: power(-2), "\u2030": power(-3), ppm: power(-6), ppb: power(-9) },
  },
  level: {
    name: "a level in decibels",
    base: "dB",
    example: "-70 dB",
    signed: true,
    prefixes: "none",
    units: { dB: plain(1), dBc: plain(1), dBFS: plain(1) },
  },
  symbolRate: {
    name: "a serial speed",
    base: "Bd",
    example: "115200",
    signed: false,
    prefixes: "units",
    units: { Bd: si, baud: si, "bit/s": si, bps: si },
  },
  count: {
    name: "a number",
    base: "",
    example: "12",
    signed: false,
    prefixes: "none",
    units: {
      LSB: plain(1),
      bit: plain(1),
      bits: plain(1),
      cycles: plain(1),
      clocks: plain(1),
      readings: plain(1),
      bytes: plain(1),
    },
  },
} as const satisfies Record<string, DimensionEntry>;

export type Dimension = keyof typeof TABLE;

export const DIMENSIONS: Readonly<Record<Dimension, DimensionEntry>> = TABLE;
