import { describe, expect, it } from "vitest";
import { columnFormat } from "../../lib/capture/columnFormat.ts";

const format = (fields: string[]) => columnFormat(fields).format;

describe("columnFormat decides by the whole column", () => {
  it("the same field is ten, two or sixteen by its neighbours", () => {
    expect(format(["10", "11", "12", "99"]).base).toBe(10);
    expect(format(["0010", "0011", "1010", "0111"]).base).toBe(2);
    expect(format(["10", "11", "1A", "FF"]).base).toBe(16);
  });
  it("decimal comma, thousands, and both", () => {
    expect(format(["0,001", "1,250"])).toMatchObject({ kind: "real", decimal: "," });
    expect(format(["987", "1,024", "2,048"])).toMatchObject({ kind: "whole", group: "," });
    expect(format(["1,234,567", "999"])).toMatchObject({ kind: "whole", group: "," });
    expect(format(["1.234,5", "12,0"])).toMatchObject({ kind: "real", decimal: ",", group: "." });
    expect(format(["1.234", "2.345", "0.999"])).toMatchObject({ kind: "real", group: null });
  });
  it("floats that are whole are codes, with an exponent too", () => {
    expect(columnFormat(["2044.0", "2045.0"])).toMatchObject({ format: { kind: "whole" }, numbers: [2044, 2045] });
    expect(columnFormat(["2.044e+03", "1.0e+01"]).numbers).toEqual([2044, 10]);
  });
  it("an exponent without point or sign is hexadecimal", () => {
    expect(columnFormat(["07E5", "07FF", "0800", "07E1"])).toMatchObject({
      format: { base: 16 },
      numbers: [2021, 2047, 2048, 2017],
    });
  });
  it("0B10 in a hexadecimal column is a number of four digits", () => {
    expect(columnFormat(["0B10", "0B1F", "0AFF"]).numbers).toEqual([0xb10, 0xb1f, 0xaff]);
  });
  it("one letter among many decimals is damage", () => {
    const fields = Array.from({ length: 100 }, (_, i) => String(2000 + i));
    fields[50] = "20A1";
    expect(format(fields).base).toBe(10);
  });
});
