import type { FigureSpec, SeriesSpec } from "./figureSpec.ts";
import { figureSvg } from "./figureSvg.ts";
import { Html, html, jsonForScript, trusted } from "./html.ts";
import { packFigure } from "./packFigure.ts";
import { renderTable, type TableSpec } from "./table.ts";

/**
 * A figure of a page: title, drawing, key, the sentence that says what to see, and its numbers as a table in a fold. It carries its own data, from which
 * the page script makes the drawing interactive.
 * @param options.wide   the figure takes the whole width (a spectrum); otherwise two may stand side by side
 * @param options.level  heading level of the title, 3 or 4
 */
export function renderFigure(
  spec: FigureSpec,
  table: TableSpec | null,
  options: { wide?: boolean; level?: 3 | 4 } = {},
): Html {
  const drawing = figureSvg(spec, options.wide ? { width: 900, height: 320 } : { width: 480, height: 290 });
  const heading =
    options.level === 4
      ? html`<h4 id="${spec.id}-title">${spec.title}</h4>`
      : html`<h3 id="${spec.id}-title">${spec.title}</h3>`;
  return html`<figure class="figure${options.wide ? " wide" : ""}" id="${spec.id}" aria-labelledby="${spec.id}-title">
${heading}
<div class="drawing">${trusted(drawing)}</div>
${keyOf(spec)}
<figcaption>${spec.caption}</figcaption>
${table && html`<details class="numbers"><summary>The numbers of this figure</summary>${renderTable(table)}</details>`}
<script type="application/json" class="figure-data">${jsonForScript(JSON.stringify(packFigure(spec)))}</script>
</figure>`;
}

/** A figure with the table of its numbers, before it is rendered. */
export interface FigureEntry {
  readonly spec: FigureSpec;
  readonly table: TableSpec | null;
  /** Takes the whole width even beside others. */
  readonly wide?: boolean;
}

/** Figures that answer one question, side by side where the screen allows it; one alone takes the whole width. */
export function renderFigureRow(figures: readonly (FigureEntry | Html)[]): Html {
  const alone = figures.length === 1;
  const one = (f: FigureEntry | Html): Html =>
    f instanceof Html ? f : renderFigure(f.spec, f.table, { wide: f.wide || alone });
  return html`<div class="figures">${figures.map(one)}</div>`;
}

function keyOf(spec: FigureSpec): Html {
  const hatched = [...new Set((spec.hatched ?? []).map((h) => h.label))];
  return html`<ul class="key">${spec.series.map((s) => html`<li>${sample(s)} ${s.name}</li>`)}${(spec.limits ?? []).length > 0 && html`<li>${trusted('<svg class="plot sample" viewBox="0 0 28 12" aria-hidden="true"><path class="limit" d="M1 6H27"/></svg>')} limit</li>`}${hatched.map(
    (label) =>
      html`<li>${trusted(
        '<svg class="plot sample" viewBox="0 0 28 12" aria-hidden="true"><path class="hatch" d="M2 11L10 1M9 11L17 1M16 11L24 1"/></svg>',
      )} ${label}</li>`,
  )}</ul>`;
}

/** Three points in the shape of their style. */
function pointSample(style: SeriesSpec["style"]): string {
  const shape =
    style === "second" ? "l3.5 -3.5l3.5 3.5l-3.5 3.5z" : style === "third" ? "h7m-3.5 -3.5v7" : "m1 -2h4v4h-4z";
  return `M1 6${shape}M11 8${shape}M20 5${shape}`;
}

function sample(s: SeriesSpec): Html {
  const shapes: Record<SeriesSpec["kind"], string> = {
    line: `<path class="line ${s.style}" d="M1 6H27"/>`,
    steps: `<path class="line ${s.style}" d="M1 9H10V3H19V8H27"/>`,
    points: `<path class="dots ${s.style}" d="${pointSample(s.style)}"/>`,
    bars: `<path class="bars ${s.style}" d="M4 11V5h5V11zM11 11V2h5V11zM18 11V7h5V11z"/>`,
    band: `<path class="area ${s.style}" d="M1 3L14 1L27 3L27 9L14 11L1 9z"/>`,
  };
  return trusted(`<svg class="plot sample" viewBox="0 0 28 12" aria-hidden="true">${shapes[s.kind]}</svg>`);
}
