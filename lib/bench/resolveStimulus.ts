import type { LevelAccuracy, SineAccuracy, StepsStimulus, Stimulus } from "./bench.ts";
import type { StimulusFile } from "./schemaStimulus.ts";

/** A stimulus with its defaults: amplitude as peak, accuracies as ratios and volts, a source without stated limits as exact. */
export function resolveStimulus(file: StimulusFile | undefined): Stimulus | null {
  if (file === undefined) return null;
  switch (file.kind) {
    case "sine": {
      const amplitude =
        file.amplitude ??
        (file.peakToPeak === undefined ? undefined : file.peakToPeak / 2) ??
        (file.rms === undefined ? undefined : file.rms * Math.SQRT2) ??
        null;
      const frequency = file.frequency ?? null;
      const thd = file.purity?.thd;
      return {
        kind: "sine",
        frequency,
        amplitude,
        offset: file.offset ?? null,
        accuracy: sineAccuracy(file.accuracy, frequency, amplitude),
        purity: {
          thd: thd === undefined ? null : thd.dimension === "level" ? thd.value : 20 * Math.log10(thd.value),
          snr: file.purity?.snr ?? null,
        },
      };
    }
    case "ramp":
      return {
        kind: "ramp",
        from: file.from,
        to: file.to,
        duration: file.duration ?? null,
        accuracy: levelAccuracy(file.accuracy),
      };
    case "triangle":
      return {
        kind: "triangle",
        low: file.low,
        high: file.high,
        frequency: file.frequency ?? null,
        accuracy: levelAccuracy(file.accuracy),
      };
    case "steady":
      return { kind: "steady", voltage: file.voltage ?? null, accuracy: levelAccuracy(file.accuracy) };
    case "steps":
      return {
        kind: "steps",
        column: file.column ?? null,
        levels: file.levels ?? null,
        direction: file.direction ?? directionOf(file.levels),
        accuracy: levelAccuracy(file.accuracy),
      };
  }
}

type SineFile = Extract<StimulusFile, { kind: "sine" }>;
type LevelFile = Extract<StimulusFile, { kind: "steady" }>;

/** Limits in Hz or volts become ratios; the readers' rule sees to it that the setting they relate to is given. */
function sineAccuracy(file: SineFile["accuracy"], frequency: number | null, amplitude: number | null): SineAccuracy {
  const ratio = (limit: { dimension: string; value: number } | undefined, of: number | null): number => {
    if (limit === undefined) return 0;
    if (limit.dimension === "ratio") return limit.value;
    return of === null ? 0 : limit.value / of;
  };
  return {
    frequency: ratio(file?.frequency, frequency),
    amplitude: ratio(file?.amplitude, amplitude),
    offset: file?.offset ?? 0,
  };
}

function levelAccuracy(file: LevelFile["accuracy"]): LevelAccuracy {
  return {
    gain: file?.gain ?? 0,
    offset: file?.offset ?? 0,
    linearity: file?.linearity ?? 0,
    repeatability: file?.repeatability ?? 0,
  };
}

/** Levels that only rise are `up`, levels that only fall `down`; a column's direction is not known here and taken as up. */
function directionOf(levels: readonly { voltage: number }[] | undefined): StepsStimulus["direction"] {
  if (!levels) return "up";
  const changes = levels.slice(1).map((level, i) => level.voltage - levels[i]!.voltage);
  if (changes.some((d) => d > 0) && changes.some((d) => d < 0)) return "both";
  return changes.some((d) => d < 0) ? "down" : "up";
}
