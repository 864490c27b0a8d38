import { expect, it } from "vitest";
import { lineShape } from "../../lib/capture/lineShape.ts";

const slots = (line: string): [string, string][] => lineShape(line).slots.map((s) => [s.name, s.bare]);

it("keys in any order are one shape", () => {
  expect(lineShape("adc=5 t=20us").id).toBe(lineShape("t=7us, adc=2047").id);
  expect(slots("adc0: 12 adc1: 13")).toEqual([
    ["adc0", "12"],
    ["adc1", "13"],
  ]);
});

it("versions, addresses and numbered names are text", () => {
  expect(slots("ver 1.2.3")).toEqual([]);
  expect(slots("ip 192.168.0.12")).toEqual([]);
  expect(slots("mac 24:0a:c4:00:01:10")).toEqual([]);
  expect(slots("ADC0 ready, 3V3 ok")).toEqual([]);
});

it("channel numbers are part of the name", () => {
  expect(slots("ADC 0: 2047")).toEqual([["ADC 0", "2047"]]);
  expect(slots("ch[3]=17")).toEqual([["ch[3]", "17"]]);
  expect(slots("logger[412]: adc=5")).toEqual([["adc", "5"]]);
});

it("a number run into a word is no number", () => {
  expect(slots("ADC0 = 20W")).toEqual([]);
  expect(lineShape("ADC0 = 20[wifi] up").id).not.toBe(lineShape("ADC0 = 20").id);
});

it("units stand apart or close", () => {
  expect(lineShape("t=20 ms").slots[0]!.unit).toBe("ms");
  expect(lineShape("t=20us").slots[0]!.unit).toBe("us");
});
