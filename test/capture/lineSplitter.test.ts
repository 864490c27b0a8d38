import { expect, it } from "vitest";
import { lineCursor, nextLine } from "../../lib/capture/lineSplitter.ts";

function split(text: string): string[] {
  const bytes = new TextEncoder().encode(text);
  const cursor = lineCursor();
  const out: string[] = [];
  while (nextLine(bytes, cursor.next, bytes.length, true, cursor)) out.push(text.slice(cursor.start, cursor.end));
  return out;
}

it("every kind of line end ends a line once", () => {
  for (const end of ["\n", "\r\n", "\r", "\r\r\n", "\n\r"]) {
    expect(split(`a${end}b${end}`), JSON.stringify(end)).toEqual(["a", "b"]);
    expect(split(`a${end}b`), JSON.stringify(end)).toEqual(["a", "b"]);
  }
});

it("blank lines stay lines", () => {
  expect(split("a\n\nb")).toEqual(["a", "", "b"]);
  expect(split("a\r\n\r\nb")).toEqual(["a", "", "b"]);
  expect(split("a\r\rb")).toEqual(["a", "", "b"]);
});

it("a CR at the end of a piece waits for what follows", () => {
  const bytes = new TextEncoder().encode("a\r");
  const cursor = lineCursor();
  expect(nextLine(bytes, 0, 2, false, cursor)).toBe(false);
  expect(cursor.next).toBe(0);
});
