import { describe, expect, it } from "vitest";
import { benchJsonSchema } from "../../lib/bench/jsonSchema.ts";

type Node = { properties?: Record<string, Node>; description?: string; required?: string[]; oneOf?: Node[] } & Record<
  string,
  unknown
>;
const schema = benchJsonSchema() as Node;

describe("benchJsonSchema", () => {
  it("knows every key of the contract's bench file, each with a description", () => {
    const keys = "title converter frontEnd conditions stimulus captures limits decision generator serial allow scan";
    for (const key of keys.split(" ")) expect(schema.properties?.[key]?.description, key).toMatch(/\w/);
    const converter = schema.properties!.converter!;
    const converterKeys =
      "bits range coding align container firstTransition line clock sampleCycles conversionCycles overheadCycles input pin reference averaging";
    for (const key of converterKeys.split(" ")) expect(converter.properties?.[key]?.description, key).toMatch(/\w/);
    expect(converter.required).toEqual(expect.arrayContaining(["bits", "range"]));
  });

  it("lists the five kinds of stimulus and forbids unknown keys", () => {
    const kinds = schema.properties!.stimulus!.oneOf!.map((kind) => kind.properties!.kind!.const);
    expect(kinds).toEqual(["sine", "ramp", "triangle", "steady", "steps"]);
    expect(schema.additionalProperties).toBe(false);
  });

  it("is plain JSON", () => expect(JSON.parse(JSON.stringify(schema))).toEqual(schema));
});
