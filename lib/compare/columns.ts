import type { Hertz } from "../bench/units.ts";
import type { Result, ResultCapture } from "../result.ts";
import { channelsDiffer } from "./channelsDiffer.ts";
import { brief } from "./phrase.ts";

/** One side of a comparison: a board, a revision, or a setting within one bench file. The first is the reference. */
export interface Column {
  /** Short enough for a table's head. */
  readonly label: string;
  /** What it is, in full: title, conditions. */
  readonly detail: string;
  readonly captures: readonly ResultCapture[];
  readonly rate: Rate | null;
}

/** Readings a second, and what says so: the converter's timing, or the captures' sample rate. */
interface Rate {
  readonly value: Hertz;
  readonly basis: "timing" | "sample rate";
}

export interface ComparedInput {
  /** The file as the person named it. */
  readonly name: string;
  readonly result: Result;
}

/**
 * The columns of a comparison. Several inputs: one column each. A single input (one bench file): one column a setting, or, where all its captures
 * share one setting, one column a capture of a kind that occurs more than once.
 * @returns fewer than two columns where there is nothing to compare
 */
export function columnsOf(inputs: readonly ComparedInput[]): Column[] {
  if (inputs.length !== 1) return inputs.map((input, i) => inputColumn(input, labels(inputs)[i]!));
  const { captures } = inputs[0]!.result;
  const settings = groupBy(captures, sameSetting);
  if (settings.length > 1) {
    const differing = describeSettings(settings.map((group) => group[0]!));
    return settings.map((group, i) => ({
      label: differing[i]!,
      detail: describeSetting(group[0]!),
      captures: group,
      rate: rateOf(group),
    }));
  }
  const kinds = groupBy(captures, (a, b) => a.stimulus?.kind === b.stimulus?.kind).filter((group) => group.length > 1);
  const most = Math.max(0, ...kinds.map((group) => group.length));
  if (most < 2) return captures.length === 0 ? [] : [inputColumn(inputs[0]!, inputs[0]!.name)];
  const repeated = kinds.find((group) => group.length === most)!;
  return repeated.map((capture) => ({
    label: capture.name,
    detail: capture.file ?? capture.name,
    captures: [capture],
    rate: rateOf([capture]),
  }));
}

function groupBy(
  captures: readonly ResultCapture[],
  alike: (a: ResultCapture, b: ResultCapture) => boolean,
): ResultCapture[][] {
  const groups: ResultCapture[][] = [];
  for (const capture of captures) {
    const group = groups.find((g) => alike(g[0]!, capture));
    if (group === undefined) groups.push([capture]);
    else group.push(capture);
  }
  return groups;
}

/** Captures of one setting: the same converter, conditions, and input. */
function sameSetting(a: ResultCapture, b: ResultCapture): boolean {
  const key = ({ converter, conditions }: ResultCapture): string => JSON.stringify([converter, conditions]);
  return key(a) === key(b) && !channelsDiffer(a.channel, b.channel);
}

function inputColumn({ result }: ComparedInput, label: string): Column {
  // That the data are simulated is said by itself, wherever they are shown.
  const conditions = Object.entries(result.bench.conditions)
    .filter(([key]) => !/simulated/i.test(key))
    .map(([key, value]) => `${key} ${value}`);
  return {
    label,
    detail: [result.bench.title, ...conditions].join(", "),
    captures: result.captures,
    rate: rateOf(result.captures),
  };
}

/** File stems; where these repeat (the same name in two folders), the stems with a number. */
function labels(inputs: readonly ComparedInput[]): string[] {
  const stems = inputs.map(({ name }) => {
    const base = name.split(/[\\/]/).at(-1) ?? name;
    return base.replace(/\.(report\.html|result\.json|html|json|ya?ml)$/i, "") || base;
  });
  return stems.map((stem, i) => (stems.filter((s) => s === stem).length > 1 ? `${stem} (${i + 1})` : stem));
}

/** Names settings by what tells them apart: "12 bit", "adc1", "9.8 µs a reading", "firmware r3". */
function describeSettings(captures: readonly ResultCapture[]): string[] {
  const features: ((c: ResultCapture) => string)[] = [
    (c) => c.channel,
    (c) => `${brief(c.converter.scale.bits, 4)} bit`,
    (c) => (c.converter.averaging === null ? "single readings" : `${c.converter.averaging.readings} averaged`),
    (c) => (c.converter.readingTime === null ? "" : `${brief(c.converter.readingTime * 1e6, 3)} µs a reading`),
    (c) => `${brief(c.converter.low, 4)} … ${brief(c.converter.high, 4)} V`,
    (c) => c.converter.line,
    ...[...new Set(captures.flatMap((c) => Object.keys(c.conditions)))].map(
      (key) => (c: ResultCapture) => `${key} ${c.conditions[key] ?? "–"}`,
    ),
  ];
  const differing = features.filter((f) => new Set(captures.map(f)).size > 1);
  // One feature that tells all of them apart is name enough; the timing that came with it stands in the table.
  const alone = differing.find((f) => new Set(captures.map(f)).size === captures.length);
  const telling = alone === undefined ? differing : [alone];
  const named = captures.map((c) =>
    telling
      .map((f) => f(c))
      .filter((text) => text !== "")
      .join(", "),
  );
  return named.map((text, i) =>
    text === "" || named.indexOf(text) !== i ? `${text} ${captures[i]!.name}`.trim() : text,
  );
}

function describeSetting({ converter, conditions, channel }: ResultCapture): string {
  const { scale, low, high, readingTime, averaging } = converter;
  const said = Object.entries(conditions).filter(([key]) => !/simulated/i.test(key));
  return [
    channel,
    `${brief(scale.bits, 4)} bit over ${brief(low, 4)} … ${brief(high, 4)} V`,
    ...(averaging === null ? [] : [`${averaging.readings} readings averaged`]),
    ...(readingTime === null ? [] : [`${brief(readingTime * 1e6)} µs a reading`]),
    ...said.map(([key, value]) => `${key} ${value}`),
  ]
    .filter((text) => text !== "")
    .join(", ");
}

function rateOf(captures: readonly ResultCapture[]): Rate | null {
  const time = captures.find((c) => c.converter.readingTime !== null)?.converter.readingTime ?? null;
  if (time !== null && time > 0) return { value: 1 / time, basis: "timing" };
  const rate = captures.find((c) => c.sampleRate !== null)?.sampleRate ?? null;
  return rate === null ? null : { value: rate.value, basis: "sample rate" };
}
