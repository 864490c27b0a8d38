import { escapeHtml, visible } from "./html.ts";

/** A coordinate to a tenth of a pixel. */
export function n1(v: number): string {
  return (Math.round(v * 10) / 10).toString();
}

/** Text as it may stand in SVG. */
export function svgText(s: string): string {
  return escapeHtml(visible(s));
}
