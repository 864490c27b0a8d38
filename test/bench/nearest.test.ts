import { describe, expect, it } from "vitest";
import { nearest } from "../../lib/bench/nearest.ts";

describe("nearest", () => {
  it.each([
    ["frequncy", "frequency"],
    ["amplitud", "amplitude"],
    ["ofset", "offset"],
    ["OFFSET", "offset"],
    ["offste", "offset"],
  ])("%s means %s", (typed, meant) => expect(nearest(typed, ["frequency", "amplitude", "offset"])).toBe(meant));

  it("finds nothing where nothing is near", () => {
    expect(nearest("colour", ["frequency", "amplitude", "offset"])).toBeNull();
    expect(nearest("", ["offset"])).toBeNull();
    expect(nearest("x".repeat(100_000), ["offset"])).toBeNull();
    expect(nearest("offset", [])).toBeNull();
  });
});
