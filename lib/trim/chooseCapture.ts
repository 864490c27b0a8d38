import { type Problem, ProblemError } from "../bench/problem.ts";
import { voltageOfCode } from "../bench/scale.ts";
import type { Lsb } from "../bench/units.ts";
import { channelsDiffer } from "../compare/channelsDiffer.ts";
import type { Result, ResultCapture, ResultFigure } from "../result.ts";
import { hasTransitions } from "./codeInputs.ts";
import { resultScale } from "./resultScale.ts";

/** A capture that knows both offset and gain, with the two figures. */
export interface TrimSource {
  readonly capture: ResultCapture;
  readonly offset: ResultFigure & { readonly value: number };
  readonly gain: ResultFigure & { readonly value: number };
}

/**
 * How far the line of a trim may be off at a code, at about 95 %: the offset's and the gain's half-widths added, so that no
 * correlation between the two can make it larger.
 * @returns LSB; null when either figure carries no interval
 */
export function lineUncertainty({ capture, offset, gain }: TrimSource, code: number): Lsb | null {
  if (offset.uncertainty === null || gain.uncertainty === null) return null;
  const scale = resultScale(capture.converter);
  // Gain turns about 0 V, where the offset is stated.
  const volts = Math.abs(voltageOfCode(scale, code));
  return offset.uncertainty + ((gain.uncertainty / 100) * volts) / scale.lsb;
}

function hasValue(figure: ResultFigure | undefined): figure is ResultFigure & { value: number } {
  return figure !== undefined && figure.value !== null;
}

/** The largest uncertainty of the line over all codes: a straight line in |V| is largest at one end. */
function worstUncertainty(source: TrimSource): Lsb {
  const ends = [0, source.capture.converter.scale.topCode].map((code) => lineUncertainty(source, code));
  return Math.max(...ends.map((u) => u ?? Number.POSITIVE_INFINITY));
}

/**
 * Chooses the capture whose offset and gain a trim is made of: the one that knows its line best, unless one is named.
 * @throws ProblemError  no capture knows both; the named one is not there; or the captures belong to several channels or settings, which each need a trim
 */
export function chooseCapture(result: Result, file: string, name: string | null): TrimSource {
  const fail = (found: string, expected: string, next: string): never => {
    throw new ProblemError([{ code: "cannot-trim", file, line: null, key: null, found, expected, next }]);
  };
  const named = result.captures.filter((c) => name === null || c.name === name);
  if (named.length === 0)
    return fail(
      `no capture is named ${JSON.stringify(name)}`,
      `one of: ${result.captures.map((c) => c.name).join(", ")}`,
      "Name one with --capture.",
    );
  const sources = named.flatMap(sourceOf);
  if (sources.length === 0) throw new ProblemError(named.map((c) => reasonFor(c, file)));
  const differing = sources.find((s) => !sameInput(s.capture, sources[0]!.capture));
  if (name === null && differing !== undefined)
    return fail(
      `captures of several channels or settings know offset and gain: ${sources.map((s) => `${s.capture.name} (${s.capture.channel})`).join(", ")}`,
      "one channel in one setting, since each has constants of its own",
      "Choose with --capture NAME.",
    );
  return sources.reduce((best, s) => (worstUncertainty(s) < worstUncertainty(best) ? s : best));
}

function sourceOf(capture: ResultCapture): TrimSource[] {
  const { offsetError, gainError } = capture.metrics;
  return hasValue(offsetError) && hasValue(gainError) ? [{ capture, offset: offsetError, gain: gainError }] : [];
}

/**
 * Another capture of the same input and setting, with the same kind of straight line, whose transitions tell the shape that the chosen one
 * lacks (steps know their levels well and nothing between them). The one with the most transitions.
 */
export function shapeFor(result: Result, { capture }: TrimSource): TrimSource | null {
  if (hasTransitions(capture)) return null;
  const tested = (c: ResultCapture): number =>
    c.transitions!.volts.reduce<number>((n, v) => n + (v === null ? 0 : 1), 0);
  const others = result.captures
    .filter(
      (c) => c !== capture && hasTransitions(c) && sameInput(c, capture) && c.converter.line === capture.converter.line,
    )
    .filter((c) => tested(c) >= 0.95 * c.transitions!.codes.length)
    .flatMap(sourceOf);
  return others.reduce<TrimSource | null>(
    (best, s) => (best === null || tested(s.capture) > tested(best.capture) ? s : best),
    null,
  );
}

/** The same input in the same setting: one set of constants serves both. */
function sameInput(a: ResultCapture, b: ResultCapture): boolean {
  const key = ({ converter }: ResultCapture): string => JSON.stringify([converter.scale, converter.low]);
  return key(a) === key(b) && !channelsDiffer(a.channel, b.channel);
}

function reasonFor({ name, metrics }: ResultCapture, file: string): Problem {
  const why = (["offsetError", "gainError"] as const)
    .filter((metric) => !hasValue(metrics[metric]))
    .map((metric) => `${metric} ${metrics[metric]?.reason ?? "was not measured"}`);
  return {
    code: "cannot-trim",
    file,
    line: null,
    key: `captures.${name}`,
    found: `gives no constants: ${why.join("; ")}`,
    expected: "a capture with known levels over the range",
    next: "Log steps of known voltages, a ramp, or a sine whose amplitude and offset the bench file states, over at least 95 % of the codes.",
  };
}
