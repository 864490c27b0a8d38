import type { Bench, CaptureSpec } from "./bench/bench.ts";
import type { PinStimulus } from "./bench/pinStimulus.ts";
import type { Problem } from "./bench/problem.ts";
import type { Log } from "./capture/log.ts";
import type { Figures, Verdict } from "./judge/figure.ts";
import type { Finding } from "./match/finding.ts";
import type { MatchedRecord } from "./match/matched.ts";
import type { Curves } from "./measure/measurement.ts";

/** What the command hands to score: a capture's readings, and the hash of the bytes they came from. */
export interface CaptureInput {
  readonly spec: CaptureSpec;
  readonly log: Log;
  /** SHA-256 of the file as it lies on disk, hex. */
  readonly sha256: string;
}

/** Everything score found about one capture; the reports render it, result.ts turns it into JSON. */
export interface CaptureScore {
  readonly spec: CaptureSpec;
  readonly sha256: string;
  readonly record: MatchedRecord;
  readonly figures: Figures;
  readonly findings: readonly Finding[];
  readonly curves: Curves;
}

/** What judging and a summary need of a capture; one read back from a result has it too. */
export interface CaptureSummary {
  readonly spec: CaptureSpec;
  readonly record: {
    readonly channel: string;
    readonly codes: { readonly length: number };
    readonly stimulus: PinStimulus | null;
  };
  readonly figures: Figures;
  readonly findings: readonly Finding[];
}

/** A session as a summary shows it: scored now, or read back from a result. */
export interface SessionSummary {
  readonly bench: Pick<Bench, "title" | "conditions" | "limits" | "decision">;
  readonly captures: readonly CaptureSummary[];
  readonly unreadable: readonly { readonly spec: Pick<CaptureSpec, "name">; readonly problems: readonly Problem[] }[];
  readonly verdict: Verdict;
}

export interface SessionScore {
  readonly bench: Bench;
  readonly captures: readonly CaptureScore[];
  /** Captures that could not be read: reported beside the others; exit status 2. */
  readonly unreadable: readonly { readonly spec: CaptureSpec; readonly problems: readonly Problem[] }[];
  readonly verdict: Verdict;
}
