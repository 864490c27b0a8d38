import type { Converter } from "./bench/bench.ts";
import { renderProblem } from "./bench/problem.ts";
import { scaleOf, voltageOfCode } from "./bench/scale.ts";
import type { TransitionCurve } from "./measure/measurement.ts";
import type { Result, ResultCapture, ResultConverter } from "./result.ts";
import { resultOverlays } from "./resultOverlays.ts";
import type { CaptureScore, SessionScore } from "./session.ts";
import { oneIn } from "./signal/oneIn.ts";
import { significantDigits } from "./signal/significantDigits.ts";

/** Beyond this many transitions the result keeps every second, fourth … one, so that its size stays bounded. */
const MOST_TRANSITIONS = 2 ** 14;

/** A session's score as the JSON that score writes. Plain data: no NaN, no typed arrays. */
export function toResult(session: SessionScore, options: { version: string; written: string | null }): Result {
  const { bench } = session;
  return {
    schema: "codestair-result/1",
    tool: { name: "codestair", version: options.version },
    written: options.written,
    bench: {
      title: bench.title,
      conditions: bench.conditions,
      converter: converterResult(bench.converter),
      decision: bench.decision,
      allow: bench.allow as Record<string, number>,
    },
    captures: session.captures.map(captureResult),
    unreadable: session.unreadable.map(({ spec, problems }) => ({
      name: spec.name,
      file: spec.file,
      problems: problems.map(renderProblem),
    })),
    verdict: session.verdict,
  };
}

function converterResult(converter: Converter): ResultConverter {
  const { bits, low, high, coding, firstTransition, line, averaging, timing } = converter;
  const scale = scaleOf(converter);
  return {
    bits,
    low,
    high,
    coding,
    firstTransition,
    line,
    scale: { bits: scale.bits, lsb: scale.lsb, firstTransition: scale.firstTransition, topCode: scale.topCode },
    averaging,
    readingTime:
      timing === null
        ? null
        : ((timing.sampleCycles + timing.conversionCycles + timing.overheadCycles) * (averaging?.readings ?? 1)) /
          timing.clock,
  };
}

function captureResult(capture: CaptureScore): ResultCapture {
  const { spec, record, curves } = capture;
  const { log } = record;
  return {
    name: spec.name,
    file: spec.file,
    sha256: capture.sha256,
    readings: record.codes.length,
    channel: record.channel,
    conditions: spec.conditions,
    converter: converterResult(spec.converter),
    stimulus: record.stimulus === null ? null : { ...record.stimulus },
    log: {
      dialect: log.dialect.sentence,
      lines: log.lines,
      skipped: log.skipped.map(({ reason, count, examples }) => ({
        reason,
        count,
        examples: examples.map((e) => `line ${e.line}: ${e.text}`),
      })),
    },
    sampleRate:
      record.sampleRate === null
        ? null
        : {
            value: record.sampleRate.value,
            unit: "Hz",
            basis: record.sampleRate.basis,
            uncertainty: record.sampleRate.uncertainty,
          },
    fit: fitResult(capture),
    metrics: capture.figures,
    findings: capture.findings,
    harmonics: curves.spectrum?.harmonics ?? [],
    transitions: curves.transitions === undefined ? null : transitionsResult(curves.transitions),
    steps:
      curves.steps?.points.map(({ applied, meanCode, standard, inl }) => ({ applied, meanCode, standard, inl })) ??
      null,
    ...resultOverlays(curves),
  };
}

function fitResult({ record }: CaptureScore): ResultCapture["fit"] {
  const { fit, sampleRate, scale } = record;
  if (fit === null) return null;
  // A frequency without a rate has no hertz; saying so beats leaving it out.
  const perReading = sampleRate?.value ?? 1;
  return {
    frequency: fit.cyclesPerReading * perReading,
    frequencyUnit: sampleRate === null ? "cycles/reading" : "Hz",
    amplitude: fit.amplitude * scale.lsb,
    offset: voltageOfCode(scale, fit.offset),
    phase: fit.phase,
    residualRms: fit.residualRms,
    // About 95 %; the fit's own scatter is normal to a good approximation.
    uncertainty: {
      frequency: Math.hypot(
        1.96 * fit.standard.cyclesPerReading * perReading,
        fit.cyclesPerReading * (sampleRate?.uncertainty ?? 0),
      ),
      amplitude: 1.96 * fit.standard.amplitude * scale.lsb,
      offset: 1.96 * fit.standard.offset * scale.lsb,
      phase: 1.96 * fit.standard.phase,
    },
  };
}

function transitionsResult(curve: TransitionCurve): ResultCapture["transitions"] {
  const stride = Math.max(1, Math.ceil(curve.volts.length / MOST_TRANSITIONS));
  const codes: number[] = [];
  for (let i = 0; i < curve.volts.length; i += stride) codes.push(curve.first + i);
  // Ten digits keep a 24-bit converter's transition to a thousandth of its LSB, at half the file's size.
  const pick = (values: Float64Array): (number | null)[] => significantDigits(oneIn(stride, values), 10);
  return {
    codes,
    volts: pick(curve.volts),
    standard: pick(curve.voltsU),
    inl: pick(curve.inl),
    dnl: pick(curve.dnl),
  };
}
