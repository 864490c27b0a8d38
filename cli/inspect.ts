import { basename, dirname, relative, resolve } from "node:path";
import { Command } from "commander";
import type { Io } from "./io.ts";
import { addReadingOptions, type ReadingOptions, readingHints } from "./readingOptions.ts";

interface InspectOptions extends ReadingOptions {
  readonly json?: string;
  readonly bench?: string;
  readonly quiet?: boolean;
}

/** `codestair inspect LOG`: what is in this log, with no bench file. */
export function command(io: Io): Command {
  const inspect = new Command("inspect")
    .argument("<log>", "a log file, or - for standard input")
    .option("--json <file>", "write what was found as JSON; - for standard output")
    .option("--bench <file>", "write a bench file to start from, with blanks to fill in")
    .option("-q, --quiet", "no summary");
  return addReadingOptions(inspect)
    .addHelpText("after", "\nExample:\n  codestair inspect capture.log --bench bench.yaml")
    .action(async (path: string, options: InspectOptions) => {
      const { openLog } = await import("./openLog.ts");
      const { inspectLog } = await import("../lib/inspect/inspectLog.ts");
      const { Progress } = await import("./progress.ts");
      const { writeWhole } = await import("./writeWhole.ts");
      const hints = readingHints(options);
      const progress = new Progress(io, options.quiet);
      const opened = await openLog(path, hints, io, (bytes, total) =>
        progress.show(
          `reading, ${(bytes / 1e6).toFixed(0)} MB${total > 0 ? ` of ${(total / 1e6).toFixed(0)} MB` : ""}`,
        ),
      ).finally(() => progress.done());
      const inspection = inspectLog(opened.log);
      const source = { file: path, sha256: opened.sha256, bytes: opened.bytes };
      if (options.json !== undefined) {
        const { inspectionJson } = await import("../reports/inspectionJson.ts");
        const text = `${JSON.stringify(inspectionJson(inspection, source), null, 2)}\n`;
        if (options.json === "-") io.out(text);
        else await writeWhole(options.json, text);
      }
      if (options.bench !== undefined) {
        const { starterBench } = await import("../lib/inspect/starterBench.ts");
        const file = path === "-" ? "-" : relative(dirname(resolve(options.bench)), resolve(path)) || basename(path);
        await writeWhole(options.bench, starterBench(inspection, file, hints));
      }
      if (options.quiet || options.json === "-") return;
      const { inspectionText } = await import("../reports/inspectionText.ts");
      io.out(inspectionText(inspection, source, { columns: io.columns, benchPath: options.bench ?? null }));
    });
}
