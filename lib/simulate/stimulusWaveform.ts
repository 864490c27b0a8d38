import type { PinStimulus } from "../bench/pinStimulus.ts";
import type { Scale } from "../bench/scale.ts";
import type { Hertz, Seconds, Volts } from "../bench/units.ts";

/** Volts at the pin at time t, the instant of true reading n; n counts what the converter took, lost readings included. */
export type Waveform = (t: Seconds, n: number) => Volts;

/** A level of a steps stimulus with its readings. */
export interface Level {
  readonly voltage: Volts;
  readonly readings: number;
}

/** Where a sine runs that the bench leaves open: three quarters of the range about its middle, at this many cycles per reading. */
const OPEN_CYCLES = 0.0713;

/** A sine's frequency, amplitude and offset at the pin, what the bench leaves open filled in. */
export function sineOf(
  stimulus: Extract<PinStimulus, { kind: "sine" }>,
  scale: Scale,
  rate: Hertz,
): { frequency: Hertz; amplitude: Volts; offset: Volts } {
  return {
    frequency: stimulus.frequency ?? OPEN_CYCLES * rate,
    amplitude: stimulus.amplitude ?? 0.375 * scale.fsr,
    offset: stimulus.offset ?? scale.low + scale.fsr / 2,
  };
}

/** The levels of a steps stimulus in the order in which they are applied; with a column for levels, 33 points from 2 to 98 % of the range. */
export function levelsOf(stimulus: Extract<PinStimulus, { kind: "steps" }>, scale: Scale): Level[] {
  if (stimulus.levels !== null) return [...stimulus.levels];
  const up: Level[] = [];
  for (let i = 0; i < 33; i++) up.push({ voltage: scale.low + scale.fsr * (0.02 + (0.96 * i) / 32), readings: 64 });
  const down = [...up].reverse();
  return stimulus.direction === "up" ? up : stimulus.direction === "down" ? down : [...up, ...down.slice(1)];
}

/**
 * The stimulus as a function of time. A ramp runs from the first reading to the last, a triangle starts at its low end, a sine at `phase`; steps change at the
 * reading that the bench names.
 * @param rate      readings per second
 * @param readings  true readings of the record
 * @param phase     of a sine at t = 0, rad
 */
export function waveformOf(
  stimulus: PinStimulus,
  scale: Scale,
  rate: Hertz,
  readings: number,
  phase: number,
): Waveform {
  switch (stimulus.kind) {
    case "sine": {
      const { frequency, amplitude, offset } = sineOf(stimulus, scale, rate);
      return (t) => offset + amplitude * Math.cos(2 * Math.PI * ((frequency * t) % 1) + phase);
    }
    case "ramp": {
      const slope = (stimulus.to - stimulus.from) / ((readings - 1) / rate);
      return (t) => stimulus.from + slope * t;
    }
    case "triangle": {
      const frequency = stimulus.frequency ?? (2 * rate) / readings;
      return (t) => {
        const turn = (frequency * t) % 1;
        return stimulus.low + (stimulus.high - stimulus.low) * (turn < 0.5 ? 2 * turn : 2 - 2 * turn);
      };
    }
    case "steady": {
      const level = stimulus.voltage ?? scale.low + 0.4873 * scale.fsr;
      return () => level;
    }
    case "steps": {
      const levels = levelsOf(stimulus, scale);
      const ends: number[] = [];
      let end = 0;
      for (const level of levels) {
        end += level.readings;
        ends.push(end);
      }
      let i = 0;
      return (_, n) => {
        if (n < (ends[i - 1] ?? 0)) i = 0;
        while (i < levels.length - 1 && n >= ends[i]!) i++;
        return levels[i]!.voltage;
      };
    }
  }
}
