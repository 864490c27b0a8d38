import type { Converter, Timing } from "./bench.ts";
import type { Clash } from "./resolveBench.ts";
import { scaleOf } from "./scale.ts";
import type { ConverterFile, ConverterOverrideFile } from "./schemaConverter.ts";
import type { Volts } from "./units.ts";

/** How far beyond the range a pin is taken to survive where its data sheet is not quoted; common practice, the part's data sheet decides. */
const PIN_MARGIN: Volts = 0.3;
/** A measured reference further from its nominal value than this is a typing mistake or another reference. */
const REFERENCE_SPREAD = 0.2;

/** The converter of a capture: the bench-wide one with the capture's own keys laid over it, map by map. */
export function mergeConverter(base: ConverterFile, over: ConverterOverrideFile): ConverterFile {
  return mergeMaps(base, over) as ConverterFile;
}

function mergeMaps(base: object, over: object): object {
  const merged: Record<string, unknown> = { ...base };
  for (const [key, value] of Object.entries(over)) {
    if (value === undefined) continue;
    const under = merged[key];
    const bothMaps = typeof value === "object" && typeof under === "object" && value !== null && under !== null;
    merged[key] = bothMaps ? mergeMaps(under, value) : value;
  }
  return merged;
}

/**
 * Fills in a converter's defaults and checks that its parts fit together.
 * @param path  where it stands in the bench file, for the clashes
 */
export function resolveConverter(file: ConverterFile, path: readonly PropertyKey[], clashes: Clash[]): Converter {
  const clash = (keys: readonly string[], found: string, expected: string, code = "impossible-value"): void => {
    clashes.push({ code, path: [...path, ...keys], found, expected });
  };
  const { bits } = file;
  const low = file.range.low ?? 0;
  const nominal = file.range.high;
  const measured = file.reference?.measured ?? null;
  const high = measured ?? nominal;
  if (nominal <= low)
    clash(["range", "high"], `${nominal} V does not lie above range.low, ${low} V`, "a higher voltage than range.low");
  else if (
    measured !== null &&
    Math.abs(measured - nominal) > REFERENCE_SPREAD * Math.max(Math.abs(nominal), nominal - low)
  )
    clash(
      ["reference", "measured"],
      `${measured} V is far from range.high, ${nominal} V`,
      "the measured value of range.high",
    );

  const averaging =
    file.averaging?.readings === undefined
      ? null
      : { readings: file.averaging.readings, shift: file.averaging.shift ?? 0 };
  const topCode = high > low ? scaleOf({ bits, low, high, firstTransition: 0.5, averaging }).topCode : 2 ** bits - 1;
  if (topCode < 1) clash(["averaging", "shift"], `a shift by ${averaging?.shift} leaves no code`, "a smaller shift");
  if (topCode >= 2 ** 32)
    clash(
      ["averaging", "readings"],
      `the sum reaches ${topCode}, more than 32 bits hold`,
      "fewer readings or a larger shift",
    );
  const codeBits = Math.max(bits, Math.ceil(Math.log2(topCode + 1)));
  const container = file.container ?? (codeBits <= 16 ? 16 : 32);
  if (file.container !== undefined && container < codeBits && topCode < 2 ** 32)
    clash(
      ["container"],
      `${container} bits do not hold a code of ${codeBits} bits`,
      `a whole number from ${codeBits} to 32`,
    );

  const pinLow = file.pin?.low ?? Math.min(low, high) - PIN_MARGIN;
  const pinHigh = file.pin?.high ?? Math.max(low, high) + PIN_MARGIN;
  if (pinHigh <= pinLow)
    clash(["pin"], `high ${pinHigh} V does not lie above low ${pinLow} V`, "a higher voltage than low");

  return {
    bits,
    low,
    high,
    coding: file.coding ?? "binary",
    align: file.align ?? "right",
    container,
    firstTransition: file.firstTransition ?? 0.5,
    line: file.line ?? "endpoint",
    timing: resolveTiming(file, clash),
    input: {
      sourceResistance: file.input?.sourceResistance ?? null,
      switchResistance: file.input?.switchResistance ?? null,
      sampleCapacitance: file.input?.sampleCapacitance ?? null,
      apertureJitter: file.input?.apertureJitter ?? null,
    },
    pin: { low: pinLow, high: pinHigh, stated: file.pin?.low !== undefined || file.pin?.high !== undefined },
    reference: file.reference
      ? { nominal, measured, accuracy: file.reference.accuracy ?? 0, ratiometric: file.reference.ratiometric ?? false }
      : null,
    averaging,
  };
}

/** All of clock, sampleCycles, conversionCycles, or none: a rate from part of them would be wrong. */
function resolveTiming(
  file: ConverterFile,
  clash: (keys: readonly string[], found: string, expected: string, code?: string) => void,
): Timing | null {
  const { clock, sampleCycles, conversionCycles, overheadCycles } = file;
  const parts = { clock, sampleCycles, conversionCycles };
  const given = Object.entries(parts).filter(([, value]) => value !== undefined);
  if (given.length === 0) return null;
  if (clock === undefined || sampleCycles === undefined || conversionCycles === undefined) {
    const lacking = Object.keys(parts).filter((key) => parts[key as keyof typeof parts] === undefined);
    clash(
      [given[0]![0]],
      `given without ${lacking.join(" and ")}`,
      "clock, sampleCycles and conversionCycles together, or none of them",
      "missing-key",
    );
    return null;
  }
  if (sampleCycles + conversionCycles + (overheadCycles ?? 0) <= 0) {
    clash(
      ["sampleCycles"],
      "a reading would take no time",
      "sampleCycles and conversionCycles that add up to more than 0",
    );
    return null;
  }
  return { clock, sampleCycles, conversionCycles, overheadCycles: overheadCycles ?? 0 };
}
