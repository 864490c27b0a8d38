import { basename, dirname, join } from "node:path";

/** A file beside an input, named after it: boards/boardA.yaml and trim.h make boards/boardA.trim.h. */
export function fileBeside(input: string, ending: string): string {
  const stem = basename(input).replace(/\.(report\.html|html|json|ya?ml)$/i, "");
  return join(dirname(input), `${stem}.${ending}`);
}

/** Where a page goes: where --html says, nowhere with --no-html, else beside an input, named after it and the command. */
export function pageBeside(input: string, command: string, html: string | false | undefined): string | null {
  if (html === false) return null;
  return html ?? fileBeside(input, `${command}.html`);
}
