import { ProblemError } from "../bench/problem.ts";

const KINDS: readonly [readonly number[], string, string][] = [
  [[0x50, 0x4b, 3, 4], "a zip archive or a spreadsheet file", "Export the sheet as CSV, or unpack the archive"],
  [[0x1f, 0x8b], "gzip data", "Unpack it first; the command does so by itself"],
  [[0x42, 0x5a, 0x68], "bzip2 data", "Unpack it with bunzip2 and give the text"],
  [[0xfd, 0x37, 0x7a, 0x58, 0x5a], "xz data", "Unpack it with unxz and give the text"],
  [[0x28, 0xb5, 0x2f, 0xfd], "zstd data", "Unpack it with unzstd and give the text"],
  [[0x25, 0x50, 0x44, 0x46], "a PDF file", "Export the readings as text"],
  [[0x7f, 0x45, 0x4c, 0x46], "a program (ELF)", "Give the log that it prints"],
  [[0xd0, 0xcf, 0x11, 0xe0], "an old spreadsheet or document file", "Export the sheet as CSV"],
  [[0x89, 0x50, 0x4e, 0x47], "a picture (PNG)", "Give the readings as text"],
];

/**
 * Refuses bytes that cannot be a text log: known binary files, and bytes that are mostly no text.
 * @throws ProblemError that says what the file looks like and what to do
 */
export function refuseForeignFile(head: Uint8Array): void {
  for (const [magic, what, next] of KINDS) {
    if (head.length >= magic.length && magic.every((b, i) => head[i] === b)) throw refusal(`this is ${what}`, next);
  }
  let control = 0;
  let zero = 0;
  for (let i = 0; i < head.length; i++) {
    const b = head[i]!;
    if (b === 0) zero++;
    else if ((b < 32 && b !== 9 && b !== 10 && b !== 13 && b !== 27 && b !== 12) || b === 127) control++;
  }
  const high = head.length - zero;
  // UTF-16 is half zeros; a serial line that was pulled leaves a few bytes of noise.
  if (control > 0.1 * high + 4 && head.length > 32) {
    throw refusal(
      `${Math.round((100 * control) / head.length)} % of the bytes are control characters: binary data`,
      "Print the readings as numbers, one a line",
    );
  }
  if (head.length > 0 && zero === head.length)
    throw refusal("the file holds only zero bytes", "Check that the capture ran");
}

function refusal(found: string, next: string): ProblemError {
  return new ProblemError([
    { code: "unreadable-log", file: null, line: null, key: null, found, expected: "a text log", next },
  ]);
}
