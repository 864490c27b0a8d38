import { processIo } from "./io.ts";
import { main } from "./main.ts";
import { write } from "./standardStream.ts";

/** The whole process: one command line on the real streams, ending in the exit status. */
export async function run(args: readonly string[]): Promise<void> {
  try {
    process.exitCode = await main(args, processIo());
  } catch (error) {
    // Reached only by a defect of codestair itself: say so in one line, with what to do.
    const text = error instanceof Error ? error.message : String(error);
    write(2, `codestair: internal error: ${text}\nPlease report it with the command line and, if you can, the log.\n`);
    if (process.env.CODESTAIR_DEBUG && error instanceof Error) write(2, `${error.stack}\n`);
    process.exitCode = 2;
  }
}
