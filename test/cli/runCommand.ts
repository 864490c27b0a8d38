import type { Io } from "../../cli/io.ts";
import { main } from "../../cli/main.ts";

/** Runs one command line with everything it says kept, and `input` on its standard input. */
export async function runCommand(
  args: readonly string[],
  input: string | Uint8Array = "",
): Promise<{ status: number; out: string; err: string }> {
  const said = { out: "", err: "" };
  const io: Io = {
    out: (text) => {
      said.out += text;
    },
    err: (text) => {
      said.err += text;
    },
    colour: false,
    progress: false,
    columns: 80,
    stdin: (async function* () {
      if (input.length > 0) yield typeof input === "string" ? new TextEncoder().encode(input) : input;
    })(),
    status: 0,
  };
  return { status: await main(args, io), ...said };
}
