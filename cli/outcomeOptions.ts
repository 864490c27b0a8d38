import type { Command } from "commander";

/** What the commands that set results side by side have in common. */
export interface OutcomeOptions {
  readonly html?: string | false;
  readonly json?: string;
  readonly tables?: string;
  readonly sameSource?: boolean;
  readonly sameBoard?: boolean;
  readonly quiet?: boolean;
}

/**
 * Adds them to a command's help, in its words.
 * @param words.served  whom one source served: "both"
 * @param words.beside  beside what the page goes: "the last input"
 * @param words.json    what the JSON holds: "the comparison"
 */
export function addOutcomeOptions(
  command: Command,
  words: { readonly served: string; readonly beside: string; readonly json: string; readonly quiet?: string },
): Command {
  return command
    .option("--same-source", `the same source, left as it was, served ${words.served}: its limits cancel`)
    .option("--same-board", `the same front end and reference served ${words.served}: their limits cancel`)
    .option("--html <file>", `write the page there (default: beside ${words.beside})`)
    .option("--no-html", "write no page")
    .option("--json <file>", `write ${words.json} as JSON; - is standard output`)
    .option("--tables <folder>", "write the table as CSV there")
    .option("-q, --quiet", words.quiet ?? "no summary");
}
