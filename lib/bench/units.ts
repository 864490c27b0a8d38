/** SI units by name, so that a signature says what a number is. Prefixes exist only where numbers are read or rendered. */
export type Volts = number;
export type Hertz = number;
export type Seconds = number;
export type Ohms = number;
export type Farads = number;
export type Radians = number;
/** One code width, Q = FSR/2^N. */
export type Lsb = number;
export type Decibels = number;
/** A ratio to one: 1 % is 0.01, 20 ppm is 2e-5. */
export type Ratio = number;
