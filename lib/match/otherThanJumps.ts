import type { CaptureRecord } from "../capture/record.ts";
import { kernels } from "../kernels/kernels.generated.js";
import type { UsableCodes } from "../signal/usableCodes.ts";
import { sineCourses } from "./driftingSine.ts";
import { fitStretch } from "./fitRecord.ts";
import { fitWithoutUpsets } from "./fitWithoutUpsets.ts";
import { levelsBesideTone } from "./levelsBesideTone.ts";
import { explained, phaseCurve } from "./phaseCurve.ts";
import { quietNoise } from "./phasePieces.ts";
import type { PhaseStep } from "./phaseSteps.ts";
import { awayFrom } from "./usableCodes.ts";

/** Longest record that is asked: a course over more readings is no jump of phase. */
const LONGEST = 1 << 17;
/** Share of what is left beyond the noise that a course must account for by itself: what a loss leaves over few cycles passes for a course to a part only. */
const MOST = 0.85;
const MOST_DISTORTION = 0.9;
/** Cycles from which a piece knows its middle and amplitude. */
const LEAST_CYCLES = 1.5;

/**
 * Whether a sine whose middle or amplitude moves explains a record better than jumps of its phase: over a few cycles a drift or warm-up pulls the fitted phase along. It does where it accounts for
 * nearly all that is left, or by Schwarz's criterion, Annals of Statistics 6, 1978: N·ln(RSS) + parameters·ln(N), each piece between jumps with a phase and frequency of its own.
 * @param noise  rms about the tone over short pieces, codes
 */
export function isCourse(
  record: CaptureRecord,
  steps: readonly PhaseStep[],
  noise: number,
  usable: UsableCodes | null,
): boolean {
  const readings = record.codes.length;
  if (readings > LONGEST) return false;
  const whole = fitStretch(record, usable, [0, readings - 1]);
  if (whole === null) return false;
  const {
    courses,
    rss,
    readings: asked,
  } = sineCourses(record.codes, whole, [0, readings - 1], awayFrom(usable, whole));
  if (courses.length === 0) return false;
  const squares = courses.reduce((sum, course) => sum + course.squares, 0);
  if (squares > MOST * (rss - asked * noise ** 2)) return true;
  const edges = [0, ...steps.map((step) => step.at), readings];
  const pieces = edges.slice(1).flatMap((end, i) => fitStretch(record, usable, [edges[i]!, end - 1]) ?? []);
  const known = pieces.filter((p) => p.cyclesPerReading * p.readings >= LEAST_CYCLES);
  const weight = known.reduce((sum, p) => sum + p.readings, 0);
  const offset = known.reduce((sum, p) => sum + (p.readings * p.offset) / weight, 0);
  const amplitude = known.reduce((sum, p) => sum + (p.readings * p.amplitude) / weight, 0);
  // Lost readings change neither middle nor amplitude: pieces that differ in them are held against their mean.
  let byPieces = pieces.reduce((sum, p) => sum + p.rss, 0);
  for (const p of known) byPieces += p.readings * ((p.offset - offset) ** 2 + (p.amplitude - amplitude) ** 2 / 2);
  const byCourse = whole.rss - squares;
  const price = (2 * steps.length - 2 * courses.length) * Math.log(readings);
  return byCourse > 0 && readings * Math.log(byCourse) < readings * Math.log(byPieces) + price;
}

/** Orders of distortion that are looked at, each with a cosine and a sine. */
const HARMONICS = [2, 15] as const;
const COLUMNS = 2 * (HARMONICS[1] - HARMONICS[0] + 1);
/** Cycles from which a jump in one of them is neither distortion, which comes in each, nor two levels; readings that each column of the harmonics must have. */
const ENOUGH_CYCLES = 5;
const READINGS_EACH = 8;
/** Upset readings spoil the fit of a record of so few readings. */
const SHORT = 512;
/** Share of the squares that is left once upset readings are out, where these are all that is wrong. */
const LEFT_OF_UPSETS = 0.1;
const LEAST_SWITCHES = 4;
/** What a sound record leaves once upset readings are out: in units of the noise of short windows, and distortion as a share of the amplitude. */
const SOUND = { noise: 3, amplitude: 0.01 };

/**
 * Whether what looks like jumps of phase is something else that accounts for nearly all of it: distortion, which goes with the phase (orders up to 15); noise on two levels; a few upset readings.
 * @param noise  rms about the tone over short pieces, codes
 */
export function isSomethingElse(record: CaptureRecord, noise: number, usable: UsableCodes | null): boolean {
  const { codes } = record;
  const readings = codes.length;
  if (readings > LONGEST) return false;
  const whole = fitStretch(record, usable, [0, readings - 1]);
  if (isUpsetOnly(record, usable)) return true;
  if (whole === null || whole.cyclesPerReading * readings < ENOUGH_CYCLES) return false;
  if (readings >= READINGS_EACH * COLUMNS) {
    const curve = phaseCurve(codes, whole, 0, readings - 1, awayFrom(usable, whole));
    const sine = explained(curve, null);
    const all = explained(curve, HARMONICS);
    const left = curve.squares - (sine?.squares ?? 0) - curve.readings * Math.min(noise, Math.sqrt(1 / 12)) ** 2;
    if (sine !== null && all !== null && all.squares - sine.squares > MOST_DISTORTION * left) return true;
  }
  const { values, found } = levelsBesideTone(kernels.besideSine(codes, whole, 0), whole.cyclesPerReading);
  if (found === null || !found.isFlat || found.switches < LEAST_SWITCHES) return false;
  const squares = values.reduce((sum, x) => sum + x * x, 0);
  return found.squares > MOST * (squares - readings * found.noise ** 2);
}

/** Whether a few upset readings are all that is wrong with a short record: without them one sine fits. */
export function isUpsetOnly(record: CaptureRecord, usable: UsableCodes | null): boolean {
  const readings = record.codes.length;
  const whole = readings < SHORT ? fitStretch(record, usable, [0, readings - 1]) : null;
  if (whole === null) return false;
  const { fit, upset } = fitWithoutUpsets(record.codes, whole, [0, readings - 1], usable);
  if (!(upset > 0 && fit.rss < LEFT_OF_UPSETS * whole.rss)) return false;
  // Of a block from another place some readings come close to the tone and stay in.
  const noise = quietNoise(record.codes, fit.cyclesPerReading, usable);
  return fit.residualRms < SOUND.noise * noise + SOUND.amplitude * fit.amplitude;
}
