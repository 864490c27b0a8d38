import type { LimitRow } from "../lib/judge/figure.ts";
import type { SessionScore, SessionSummary } from "../lib/session.ts";
import { metricInSentence, metricVerb } from "./metricLabel.ts";
import { counted, placeOf, plain, shownText, toPlace, unbroken } from "./number.ts";

/** Where a row was judged: its capture, and its channel when the bench has several. */
export function rowPlace(row: LimitRow, session: SessionSummary): string {
  if (row.capture === null) return "";
  // A single converter input may be called adc0 in one log and ADC0 in the next.
  const channels = new Set(session.captures.map((c) => c.record.channel.toLowerCase()));
  return channels.size > 1 && row.channel !== null && row.channel !== row.capture
    ? `${row.capture}, ${row.channel}`
    : row.capture;
}

function listed(names: readonly string[]): string {
  const unique = [...new Set(names)];
  return unique.length < 2 ? unique.join("") : `${unique.slice(0, -1).join(", ")} and ${unique.at(-1)}`;
}

/** The verdict in one plain sentence. */
export function headline(session: SessionSummary): string {
  const { decision, limits } = session.verdict;
  const unreadable = session.unreadable.length;
  const tail = unreadable > 0 ? ` ${counted(unreadable, "capture")} could not be read.` : "";
  const names = (d: LimitRow["decision"]): string =>
    listed(limits.filter((l) => l.decision === d).map((l) => metricInSentence(l.metric)));
  const count = (...d: LimitRow["decision"][]): number => limits.filter((l) => d.includes(l.decision)).length;
  const all = counted(limits.length, "limit");
  const some = (n: number): string => (limits.length === 1 ? "The one limit" : `${counted(n)} of ${all}`);
  switch (decision) {
    case "pass":
      return `${limits.length === 1 ? "The one limit is met." : `All ${all} are met.`}${tail}`;
    case "fail":
      return `${some(count("fail"))} ${count("fail") === 1 ? "is" : "are"} not met: ${names("fail")}.${tail}`;
    case "undecided": {
      const open = listed(limits.filter((l) => l.decision !== "pass").map((l) => metricInSentence(l.metric)));
      return `${some(count("undecided", "not measured"))} cannot be decided from these captures: ${open}.${tail}`;
    }
    default:
      return session.captures.length === 0
        ? `Nothing was measured.${tail}`
        : `Measured; the bench file sets no limits to judge against.${tail}`;
  }
}

/** What was tested, against what, and by which rule: the sentence below the headline. */
export function whatWasTested(session: SessionScore): string {
  const { bench, captures } = session;
  const { converter } = bench;
  const names = captures.map((c) => c.spec.name);
  const readings = captures.reduce((sum, c) => sum + c.record.codes.length, 0);
  const board = bench.conditions.board ? `Board ${bench.conditions.board}` : "The converter";
  const what = `${board}, ${converter.bits} bit over ${plain(converter.low)} V to ${plain(converter.high)} V, by ${counted(captures.length, "capture")} (${listed(names)}) of ${counted(readings, "reading")}${captures.length > 1 ? " together" : ""}.`;
  if (session.verdict.limits.length === 0) return what;
  const rule =
    bench.decision === "guarded"
      ? "A limit passes only when the whole 95 % interval lies inside it and fails only when the whole interval lies outside; between the two it is undecided."
      : "A limit is judged by the value alone; its uncertainty is shown but does not count.";
  return `${what} ${rule}`;
}

/** One limit's decision with its figures, in a sentence. */
export function reason(row: LimitRow, session: SessionSummary): string {
  const name = metricInSentence(row.metric);
  const subject = name.charAt(0).toUpperCase() + name.slice(1);
  const place = rowPlace(row, session);
  const by = place === "" ? "" : ` (${place})`;
  const bound = row.bound === "min" ? "at least" : "at most";
  const limit = `${bound} ${plain(row.limit, 6)} ${row.unit}`;
  const remedy = row.remedy === null ? "" : ` ${unbroken(row.remedy)}`;
  if (row.decision === "not measured")
    return `${subject} ${metricVerb(row.metric) === "is" ? "was" : "were"} not measured; the limit asks for ${limit}.${remedy}`;
  const is = `${subject} ${metricVerb(row.metric)} ${shownText(row)}${by}`;
  switch (row.decision) {
    case "pass":
      return `${is}; the limit asks for ${limit}.`;
    case "fail":
      return `${is}, and the limit asks for ${limit}${wholly(row)}.${remedy}`;
    default:
      return `${is}: the interval reaches across the limit of ${limit}.${remedy}`;
  }
}

/** That the whole interval lies outside, with its nearer end; nothing where the decision looked at the value alone. */
function wholly(row: LimitRow): string {
  const near = row.bound === "max" ? row.low : row.high;
  if (near === null || (row.bound === "max" ? near <= row.limit : near >= row.limit)) return "";
  const place = row.uncertainty === null ? 2 : placeOf(row.uncertainty);
  return `: even its ${row.bound === "max" ? "lower" : "upper"} end, ${toPlace(near, place)} ${row.unit}, lies outside`;
}

/** Readings that no board made: the bench file says so in its title or conditions. */
export function isSimulated(session: SessionSummary): boolean {
  const marks = [session.bench.title, ...session.captures.map((c) => c.spec.name)];
  const says = (conditions: Readonly<Record<string, string>>): boolean =>
    Object.entries(conditions).some(([key, value]) =>
      /simulated/i.test(key) && !/^(false|no|0)$/i.test(value) ? true : /\bsimulated\b/i.test(value),
    );
  return (
    marks.some((m) => /\bsimulated\b/i.test(m)) ||
    says(session.bench.conditions) ||
    session.captures.some((c) => says(c.spec.conditions))
  );
}
