import { describe, expect, it } from "vitest";
import { sharedClauses } from "../../reports/sharedClauses.ts";

describe("sharedClauses", () => {
  const fit = "a 4-parameter sine fit over all readings";

  it("says a clause that several methods share once", () => {
    expect(sharedClauses([`${fit}; x`, `y; ${fit}`, "z"])).toEqual({ notes: [fit], texts: ["[1]; x", "y; [1]", "z"] });
  });

  it("leaves alone what is short or stands once", () => {
    expect(sharedClauses(["short; a", "short; b", fit])).toEqual({ notes: [], texts: ["short; a", "short; b", fit] });
  });

  it("loses no clause", () => {
    const line = "end-point line over T[1] to T[4095], noise 0.35 LSB";
    const { notes, texts } = sharedClauses([`${fit}; ${line}; a`, `${fit}; ${line}; b`]);
    expect(texts).toEqual(["[1] [2]; a", "[1] [2]; b"]);
    expect(notes).toEqual([fit, line]);
  });
});
