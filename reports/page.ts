import type { Result } from "../lib/result.ts";
import type { SessionScore } from "../lib/session.ts";
import { significantDigits } from "../lib/signal/significantDigits.ts";
import { plain } from "./number.ts";
import { cleanSection } from "./sections/cleanSection.ts";
import { logSection } from "./sections/logSection.ts";
import { methodSection } from "./sections/methodSection.ts";
import { quietSection } from "./sections/quietSection.ts";
import { stimulusSection } from "./sections/stimulusSection.ts";
import { straightSection } from "./sections/straightSection.ts";
import { verdictBody } from "./sections/verdictBody.ts";
import { renderShell, type SectionSpec } from "./shell.ts";
import { headline, isSimulated } from "./verdictWords.ts";

export interface PageOptions {
  readonly version: string;
  /** ISO 8601, or null where the page must be reproducible. */
  readonly written: string | null;
  /** Carried by the page so that it can be compared or judged again without the logs. */
  readonly result: object;
  /** The page loads itself again now and then (watch). */
  readonly reload?: boolean;
}

/** The id of the script element that carries the result. */
const RESULT_ID = "codestair-result";

/** A session's report: verdict first, then the questions in the order a person asks them. One file, complete without its script. */
export function renderPage(session: SessionScore, options: PageOptions): string {
  const { bench, captures } = session;
  const sections: SectionSpec[] = [
    { id: "log", heading: "Is the log sound?", body: logSection(session) },
    { id: "stimulus", heading: "Does it show the stimulus?", body: stimulusSection(session) },
  ];
  const add = (id: string, heading: string, body: SectionSpec["body"] | null): void => {
    if (body !== null) sections.push({ id, heading, body });
  };
  add("straight", "How far off, and how straight?", straightSection(session));
  add("clean", "How clean?", cleanSection(session));
  add("quiet", "How quiet?", quietSection(session));
  add("method", "How was it measured?", methodSection(session));
  const { converter } = bench;
  const conditions = Object.entries(bench.conditions)
    .filter(([key]) => !/simulated/i.test(key))
    .map(([key, value]) => `${key} ${value}`);
  return renderShell({
    kind: "Score",
    title: bench.title,
    subtitle: [
      `${converter.bits}-bit converter, ${plain(converter.low)} V to ${plain(converter.high)} V`,
      ...conditions,
    ].join(" · "),
    simulated: isSimulated(session),
    verdict: { decision: session.verdict.decision, headline: headline(session), body: verdictBody(session) },
    sections,
    data: [{ id: RESULT_ID, json: compact(options.result) }],
    version: options.version,
    written: options.written,
    foot: captures.map((c) => `${c.spec.file ?? c.spec.name} sha256 ${c.sha256.slice(0, 16)}…`).join(" · "),
    reload: options.reload ?? false,
  });
}

/**
 * The result as the page carries it. Indentation is for files that people open, and so are the last digits of thousands of transitions: both would
 * only weigh here. Everything else stays as it is.
 */
function compact(result: Partial<Result>): string {
  const captures = result.captures?.map((capture) => {
    const { transitions } = capture;
    if (!transitions) return capture;
    const { volts, standard, inl, dnl } = transitions;
    return {
      ...capture,
      transitions: {
        ...transitions,
        // Volts to eight digits, the rest to parts of an LSB that no interval reaches.
        volts: significantDigits(volts, 8),
        standard: significantDigits(standard, 2),
        inl: inl.map(fourPlaces),
        dnl: dnl.map(fourPlaces),
      },
    };
  });
  return JSON.stringify(captures === undefined ? result : { ...result, captures });
}

function fourPlaces(v: number | null): number | null {
  return v === null ? null : Math.round(v * 1e4) / 1e4;
}
