import type { CaptureRecord } from "../capture/record.ts";
import type { Detector, MatchContext } from "./context.ts";
import type { Finding } from "./finding.ts";
import { say } from "./say.ts";

/** Standard deviations asked for: 5.7e-7 in a Gaussian, over the first 16 places. */
const DEVIATIONS = 5.5;
const PLACES = 16;

/** Levels that are not reached at once: after a step of the source, or after the multiplexer's switch in a scan. */
export const slowSettling: Detector = (context) => [...afterSteps(context), ...afterSwitch(context)];

/**
 * After each change of level the readings' distance from the level's own second half, weighted by the size of the step and taken over all steps: settled readings
 * give zero within σ/√Σstep².
 */
function afterSteps({ record, clean }: MatchContext): Finding[] {
  // With readings missing a list of levels does not line up any more.
  if (record.appliedVolts === null && clean.length !== 1) return [];
  const levels = levelRuns(record);
  if (levels === null || levels.length < 3) return [];
  const { codes, scale } = record;
  const weights = new Float64Array(PLACES);
  const sums = new Float64Array(PLACES);
  const squares = new Float64Array(PLACES);
  const counts = new Float64Array(PLACES);
  let scatter = 0;
  let scatterCount = 0;
  let previous: number | null = null;
  const places: [number, number][] = [];
  for (const [first, last] of levels) {
    const half = first + Math.floor((last - first + 1) / 2);
    let settled = 0;
    for (let n = half; n <= last; n++) settled += codes[n]! / (last - half + 1);
    const railed = settled < 1 || settled > scale.topCode - 1;
    if (previous !== null && last - first + 1 >= 4 && !railed) {
      const step = settled - previous;
      for (let j = 0; j < PLACES && first + j < half; j++) {
        const lacking = settled - codes[first + j]!;
        sums[j]! += step * lacking;
        weights[j]! += step * step;
        squares[j]! += lacking * lacking;
        counts[j]!++;
      }
      places.push([first, Math.min(half - 1, first + 3)]);
    }
    for (let n = half; n <= last; n++) {
      scatter += (codes[n]! - settled) ** 2;
      scatterCount++;
    }
    previous = railed ? null : settled;
  }
  if (places.length < 2) return [];
  // A level without noise is known to a rounding only.
  const sigma = Math.sqrt(scatter / Math.max(1, scatterCount - levels.length) + 1 / 6);
  const share = (j: number): number => sums[j]! / weights[j]!;
  // Hum and drift scatter levels by more than readings within one: what a common share leaves of them counts where it is more.
  const apart = (j: number): number =>
    counts[j]! < 3 ? 0 : Math.sqrt(Math.max(0, squares[j]! - share(j) * sums[j]!) / (counts[j]! - 1));
  const slow: number[] = [];
  for (let j = 0; j < PLACES && weights[j]! > 0; j++) {
    if (share(j) < (DEVIATIONS * Math.max(sigma, apart(j))) / Math.sqrt(weights[j]!)) break;
    slow.push(share(j));
  }
  if (slow.length === 0) return [];
  const typical = Math.sqrt(weights[0]! / places.length);
  if (slow[0]! * typical < 0.5) return [];
  const constant = timeConstant(slow);
  return [
    {
      id: "slow-settling",
      severity: "warning",
      text: `After a step the first reading still lacks ${say.ratio(slow[0]!)} of it${slow.length > 1 ? `, the second ${say.ratio(slow[1]!)}` : ""}; ${say.plural(slow.length, "reading is", "readings are")} off by more than chance${constant === null ? "" : `, with a time constant of ${say.number(constant)} readings`}.${circuit(record)}`,
      cause:
        "The source resistance and the capacitance at the pin (or the source itself) are too slow for the time given.",
      advice:
        "Wait longer after a step, lower the source resistance, or put a buffer before the pin; readings before settling are left out here.",
      readings: places,
      nulls: [],
    },
  ];
}

/** Readings of a scan by their place after the switch of channel: the first of a visit against the last. */
function afterSwitch({ record, fit }: MatchContext): Finding[] {
  const { spec, codes, stimulus } = record;
  const visit = spec.scan?.readingsPerVisit ?? 1;
  if (visit < 2 || codes.length < 8 * visit) return [];
  const kind = stimulus?.kind;
  if (kind !== "steady" && !(kind === "sine" && fit !== null)) return [];
  const sums = new Float64Array(visit);
  const squares = new Float64Array(visit);
  const counts = new Float64Array(visit);
  for (let n = 0; n < codes.length; n++) {
    const model =
      kind === "sine" && fit !== null
        ? fit.offset + fit.amplitude * Math.cos(2 * Math.PI * fit.cyclesPerReading * n + fit.phase)
        : codes[0]!;
    const r = codes[n]! - model;
    const j = n % visit;
    sums[j]! += r;
    squares[j]! += r * r;
    counts[j]!++;
  }
  const mean = (j: number): number => sums[j]! / counts[j]!;
  const last = visit - 1;
  const variance = (j: number): number => Math.max(0, squares[j]! / counts[j]! - mean(j) ** 2) / counts[j]!;
  const off: number[] = [];
  for (let j = 0; j < last; j++) off.push(mean(j) - mean(last));
  const u = Math.sqrt(variance(0) + variance(last));
  if (Math.abs(off[0]!) < DEVIATIONS * u || Math.abs(off[0]!) < 0.3) return [];
  const constant = timeConstant(off.map((x) => Math.abs(x)).filter((x) => x > 3 * u));
  return [
    {
      id: "slow-settling",
      severity: "warning",
      text: `In the scan the first reading after the switch of channel is off by ${say.lsb(off[0]!)} against the last of the visit (${off.map((x, j) => `place ${j + 1}: ${say.lsb(x)}`).join(", ")})${constant === null ? "" : `; time constant ${say.number(constant)} readings`}.${circuit(record)}`,
      cause:
        "The sampling capacitor keeps charge of the channel before, and the source resistance is too high to replace it in the sampling time.",
      advice:
        "Lengthen the sampling time, lower the source resistance, or throw the first readings of each visit away.",
      readings: [[0, codes.length - 1]],
      nulls: [],
    },
  ];
}

/** Runs of one level: from the column of applied voltages, else from the listed levels. */
function levelRuns(record: CaptureRecord): [number, number][] | null {
  const { stimulus, appliedVolts, codes } = record;
  if (stimulus?.kind !== "steps") return null;
  const runs: [number, number][] = [];
  if (appliedVolts !== null) {
    let first = 0;
    for (let n = 1; n <= codes.length; n++)
      if (n === codes.length || appliedVolts[n] !== appliedVolts[n - 1]) {
        runs.push([first, n - 1]);
        first = n;
      }
    return runs;
  }
  if (stimulus.levels === null) return null;
  let first = 0;
  for (const { readings } of stimulus.levels) {
    if (first + readings > codes.length) break;
    runs.push([first, first + readings - 1]);
    first += readings;
  }
  return runs;
}

/** From the ratios of neighbouring shares, in readings; null where there is only one. */
function timeConstant(shares: readonly number[]): number | null {
  if (shares.length < 2 || !(shares[0]! > shares[1]!) || !(shares[1]! > 0)) return null;
  return 1 / Math.log(shares[0]! / shares[1]!);
}

/** What the bench file's own circuit would need. */
function circuit(record: CaptureRecord): string {
  const { input, timing, bits } = record.spec.converter;
  if (timing === null || input.sourceResistance === null || input.sampleCapacitance === null) return "";
  const tau = (input.sourceResistance + (input.switchResistance ?? 0)) * input.sampleCapacitance;
  const needed = tau * Math.log(2 ** (bits + 1));
  const given = timing.sampleCycles / timing.clock;
  return ` By the bench file the sampling capacitor alone needs ${say.seconds(needed)} for half an LSB and is given ${say.seconds(given)}.`;
}
