import type { CaptureRecord } from "../capture/record.ts";
import { alongSine } from "../signal/alongSine.ts";
import { median } from "../signal/median.ts";
import { fitSine, type SineFit } from "../signal/sineFit.ts";
import { isUsable, type UsableCodes } from "../signal/usableCodes.ts";
import type { Finding } from "./finding.ts";
import { fitStretch, POOR } from "./fitRecord.ts";
import { LINE_METRICS, SHAPE_METRICS, TONE_METRICS } from "./metricGroups.ts";
import { robustDeviation } from "./robust.ts";
import { expectedCycles } from "./sampleRate.ts";
import { say } from "./say.ts";

/** Pieces that are held against the whole. */
const PIECES = 17;
/** A piece leaves less than this share of what one sine through the whole record leaves: half of the pieces, or of a short record, where hardly one is whole, a quarter of them. */
const LONG = { better: 0.4, pieces: 0.5, parts: 8 };
const SHORT = { better: 0.25, pieces: 0.25, parts: 4 };
const FEW_READINGS = 400;
/** Of what the whole leaves, the share that level and amplitude may account for. */
const MOST_OTHER = 0.3;

/** The shortest pieces: readings, and cycles of the tone, below which a sine fits anything. */
const SHORTEST = { readings: 10, cycles: 0.6 };

/**
 * A tone of which every piece is a sine but the record is not, although no single jump of its phase can be made out: readings lost so often that hardly a cycle
 * stays whole. Asked for is that pieces leave less than two fifths (of a short record a quarter) of what the whole leaves, which must be more than 3 % of the amplitude, and that level and
 * amplitude of the pieces stay the same: noise and distortion stay in the pieces, drift and hum move the level, so that no sound record comes near.
 * @param reference  of the record or of a part of it
 */
export function brokenPhase(record: CaptureRecord, reference: SineFit | null, usable: UsableCodes | null): Finding[] {
  const { codes, stimulus } = record;
  if (stimulus?.kind !== "sine") return [];
  const whole = fitStretch(record, usable, [0, codes.length - 1]);
  if (whole !== null && whole.residualRms < POOR * whole.amplitude) return [];
  const frequencies = new Set<number>();
  const rate = record.spec.sampleRate;
  if (stimulus.frequency !== null && rate !== null) frequencies.add(expectedCycles(stimulus.frequency, rate));
  if (reference !== null && reference.readings < 0.5 * codes.length) frequencies.add(reference.cyclesPerReading);
  for (const cycles of frequencies) {
    const shortest = Math.max(SHORTEST.readings, SHORTEST.cycles / Math.min(cycles, 0.5 - cycles));
    const asked = codes.length < FEW_READINGS ? SHORT : LONG;
    for (let length = Math.floor(codes.length / asked.parts); length >= shortest; length >>= 1) {
      const told = piecesFit(record, usable, cycles, length, whole, asked);
      if (told === null) continue;
      return [
        {
          id: "readings-lost",
          severity: "error",
          text: `Pieces of ${say.count(length)} readings are sines to within ${say.lsb(told.piece)} rms, but no one sine fits the record better than ${say.lsb(told.left)}: its phase jumps again and again, so that readings are missing in many places.`,
          cause:
            "Readings were produced faster than they were sent, and some are lost at every turn of a buffer; or the sample clock jumps.",
          advice:
            "Store the record in memory and print it afterwards, raise the baud rate, or log a running number that shows where they are missing.",
          readings: [[0, codes.length - 1]],
          nulls: [...TONE_METRICS, ...LINE_METRICS, ...SHAPE_METRICS],
        },
      ];
    }
  }
  return [];
}

function piecesFit(
  { codes }: CaptureRecord,
  usable: UsableCodes | null,
  frequency: number,
  length: number,
  whole: SineFit | null,
  asked: typeof LONG,
): { piece: number; left: number } | null {
  const parts: SineFit[] = [];
  const starts = Array.from({ length: PIECES }, (_, i) => Math.floor((i * (codes.length - length)) / (PIECES - 1)));
  for (const first of starts) {
    const piece = { frequency, fixed: true, first, last: first + length - 1 };
    const part = fitSine(codes, usable === null ? piece : { ...piece, usable });
    if (part !== null) parts.push(part);
  }
  if (parts.length < PIECES - 2) return null;
  const amplitude = median(parts.map((p) => p.amplitude));
  // Of the pieces as well, so that a few upset readings, which spoil few of them, do not pass for a broken phase.
  const left =
    whole === null
      ? amplitude / Math.SQRT2
      : median(starts.map((first) => rmsAbout(codes, whole, first, first + length - 1, usable)));
  if (left < POOR * amplitude) return null;
  const piece = quantile(
    parts.map((p) => p.residualRms),
    asked.pieces,
  );
  if (piece > asked.better * left) return null;
  if (isMostly(codes, parts, amplitude, usable)) return null;
  const sound = parts.filter((p) => p.residualRms <= asked.better * left);
  const moved =
    robustDeviation(sound.map((p) => p.offset)) ** 2 + robustDeviation(sound.map((p) => p.amplitude)) ** 2 / 2;
  return moved > MOST_OTHER * left ** 2 ? null : { piece, left };
}

/** Share of readings that one piece's sine must meet for the others to be upset readings, and how nearly, as a share of the amplitude. */
const MOSTLY = { readings: 0.85, near: 0.1 };

/** Whether the sine of the best piece goes through most of the record: single upset readings throw the fit of a short record, and break no phase. */
function isMostly(
  codes: Int32Array,
  parts: readonly SineFit[],
  amplitude: number,
  usable: UsableCodes | null,
): boolean {
  const sine = alongSine(parts.reduce((a, b) => (b.residualRms < a.residualRms ? b : a)));
  let [met, used] = [0, 0];
  for (let n = 0; n < codes.length; n++) {
    if (!isUsable(codes[n]!, usable)) continue;
    used++;
    if (Math.abs(codes[n]! - sine(n)) < MOSTLY.near * amplitude) met++;
  }
  return met > MOSTLY.readings * used;
}

function quantile(values: readonly number[], share: number): number {
  return [...values].sort((a, b) => a - b)[Math.floor(share * (values.length - 1))]!;
}

/** rms of readings first … last about a sine, codes. */
function rmsAbout(codes: Int32Array, fit: SineFit, first: number, last: number, usable: UsableCodes | null): number {
  const sine = alongSine(fit);
  let sum = 0;
  let used = 0;
  for (let n = first; n <= last; n++) {
    const code = codes[n]!;
    if (!isUsable(code, usable)) continue;
    sum += (code - sine(n)) ** 2;
    used++;
  }
  return Math.sqrt(sum / Math.max(1, used));
}
