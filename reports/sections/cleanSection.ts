import type { CaptureScore, SessionScore } from "../../lib/session.ts";
import { renderFigureRow } from "../figure.ts";
import { spectrumFigure } from "../figures/spectrumFigure.ts";
import { findingList } from "../findingList.ts";
import { type Html, html } from "../html.ts";
import { metricTable, TONE_METRICS } from "../metricTable.ts";
import { plain, toPlace } from "../number.ts";

/** How clean? The tone against its harmonics and noise, and what of them the source itself may have brought. */
export function cleanSection(session: SessionScore): Html | null {
  const { captures } = session;
  const table = metricTable(captures, TONE_METRICS, "Noise and distortion of the tone, ± about 95 %");
  // A finding is shown even where nothing of its question was measured.
  if (table === null) return findingList(captures, "clean");
  const figures = captures.map((c, i) => spectrumFigure(c, session.verdict.limits, i)).filter((f) => f !== null);
  return html`<p>dBc is a level against the tone's own; dBFS against a sine that spans the whole range. Each 6.02 dB of SINAD is worth one bit.</p>
${findingList(captures, "clean")}
${table}
${againstSource(captures)}
${figures.length > 0 && renderFigureRow(figures)}`;
}

/** The source's own distortion and noise set against what was measured; what holds for several captures is said once. */
function againstSource(captures: readonly CaptureScore[]): Html {
  const said = new Map<string, string[]>();
  for (const capture of captures) {
    const text = sourceText(capture);
    if (text !== null) said.set(text, [...(said.get(text) ?? []), capture.spec.name]);
  }
  return html`${[...said].map(([text, names]) => html`<p><strong>${names.join(", ")}:</strong> ${text}</p>`)}`;
}

function sourceText(capture: CaptureScore): string | null {
  const { stimulus } = capture.record;
  const { thd, snr } = capture.figures;
  const found = thd?.value ?? thd?.high ?? null;
  if (stimulus?.kind !== "sine" || (found === null && (snr?.value ?? null) === null)) return null;
  const { purity } = stimulus;
  if (purity.thd === null && purity.snr === null)
    return "The bench file does not state how clean the source is; what it brings along counts as the converter's here.";
  const parts: string[] = [];
  if (purity.thd !== null && thd)
    parts.push(compared("distortion", `THD of ${toPlace(purity.thd, 1)} dBc`, purity.thd, found, thd.value === null));
  if (purity.snr !== null && snr?.value != null)
    parts.push(compared("noise", `SNR of ${toPlace(purity.snr, 1)} dB`, -purity.snr, -snr.value, false));
  return parts.join(" ");
}

/**
 * @param source    power of the source's own share against the tone, dB
 * @param measured  power of what was measured, dB; null where nothing was
 */
function compared(what: string, stated: string, source: number, measured: number | null, bound: boolean): string {
  const lead = `The source's own ${what} is stated as ${stated}.`;
  if (measured === null) return lead;
  const above = measured - source;
  const shareOfPower = 10 ** (-above / 10);
  if (above < 0)
    return `${lead} That is more than the ${bound ? "bound" : what} found here (${plain(measured, 4)} dB against the tone): the source is better than stated, or the two cancel; this capture cannot show less than the source has.`;
  if (above < 10)
    return `${lead} It lies only ${toPlace(above, 1)} dB below what was found, so it may be ${plain(100 * shareOfPower, 2)} % of that power: the source limits what this capture can show.`;
  return `${lead} It lies ${toPlace(above, 1)} dB below what was found, at most ${plain(100 * shareOfPower, 2)} % of that power.`;
}
