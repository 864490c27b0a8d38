import { processIo } from "./io.ts";
import { main } from "./main.ts";

/** The whole process: one command line on the real streams, ending in the exit status. */
export async function run(args: readonly string[]): Promise<void> {
  // A reader that stops early (`| head`) is no error of ours.
  process.stdout.on("error", (error: NodeJS.ErrnoException) => {
    if (error.code === "EPIPE") process.exit(0);
    throw error;
  });

  try {
    process.exitCode = await main(args, processIo());
  } catch (error) {
    // Reached only by a defect of codestair itself: say so in one line, with what to do.
    const text = error instanceof Error ? error.message : String(error);
    process.stderr.write(
      `codestair: internal error: ${text}\nPlease report it with the command line and, if you can, the log.\n`,
    );
    if (process.env.CODESTAIR_DEBUG && error instanceof Error) process.stderr.write(`${error.stack}\n`);
    process.exitCode = 2;
  }
}
