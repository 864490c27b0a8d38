/** Colours of a drawing; in the page these are the page's own custom properties, in an exported file those of paper. */
export interface SvgInks {
  readonly ink: string;
  readonly soft: string;
  readonly rule: string;
  readonly paper: string;
  readonly main: string;
  readonly second: string;
  readonly third: string;
  readonly limit: string;
}

export const PAPER_INKS: SvgInks = {
  ink: "#1d2125",
  soft: "#565c63",
  rule: "#dcd7cc",
  paper: "#ffffff",
  main: "#0d5c6e",
  second: "#b0491a",
  third: "#5d4a9f",
  limit: "#a01c1c",
};

const SANS = 'system-ui, "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif';

/** The style rules of a drawing. Series differ in dash as well as in colour. */
export function svgStyle(inks: SvgInks): string {
  return [
    `.plot text{font:12px ${SANS};fill:${inks.soft}}`,
    `.plot .grid{stroke:${inks.rule};stroke-width:1}`,
    `.plot .frame{stroke:${inks.soft};stroke-width:1;fill:none}`,
    `.plot .line{fill:none;stroke-width:1.4;stroke-linejoin:round}`,
    ...(["main", "second", "third"] as const).flatMap((s) => [
      `.plot .${s}{stroke:${inks[s]}}`,
      `.plot .area.${s}{fill:${inks[s]};fill-opacity:.22;stroke-width:.9}`,
      `.plot .bars.${s}{fill:${inks[s]};fill-opacity:.55;stroke-width:.8}`,
      `.plot .dots.${s}{fill:${inks[s]};stroke:none}`,
    ]),
    `.plot .whisker{stroke-width:1.2;fill:none}`,
    `.plot .dots.second{fill:none;stroke:${inks.second};stroke-width:1.3}`,
    `.plot .dots.third{fill:none;stroke:${inks.third};stroke-width:1.5}`,
    `.plot .line.second{stroke-dasharray:6 3}`,
    `.plot .line.third{stroke-dasharray:2 2.5}`,
    `.plot .reference{stroke:${inks.soft};stroke-width:1}`,
    `.plot .line.reference{stroke-dasharray:9 3 2 3}`,
    `.plot .area.reference{fill:${inks.soft};fill-opacity:.16;stroke:none}`,
    `.plot .bars.reference{fill:${inks.soft};fill-opacity:.3}`,
    `.plot .dots.reference{fill:${inks.soft};stroke:none}`,
    `.plot .limit{stroke:${inks.limit};stroke-width:1.3;stroke-dasharray:10 4}`,
    `.plot text.limit-label{fill:${inks.limit};stroke:${inks.paper};stroke-width:3;paint-order:stroke}`,
    `.plot .mark{stroke:${inks.ink};stroke-width:1;fill:none}`,
    `.plot text.mark-label{fill:${inks.ink};stroke:none;font-size:11px}`,
    `.plot .hatch{stroke:${inks.soft};stroke-width:1}`,
    `.plot .backing{fill:${inks.paper}}`,
    `.plot text.title{font:600 15px ${SANS};fill:${inks.ink}}`,
    `.plot text.caption{fill:${inks.ink}}`,
  ].join("\n");
}
