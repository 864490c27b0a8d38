import { soleColumn, tableProgram } from "./lineProgram.ts";
import type { ReadingPlan } from "./readingPlan.ts";
import type { RowCollector } from "./rowCollector.ts";
import { scanDecimalCodes, scanHexadecimalCodes } from "./scanCodes.ts";
import { scanByProgram } from "./scanProgram.ts";

/**
 * Reads plain lines straight from the bytes, one reading-row a line; stops at the first line that it is not sure about.
 * @returns where that line begins
 */
export type FastScan = (bytes: Uint8Array, from: number, to: number) => number;

/** The fast scanner for this plan, or null where every line needs the general way. */
export function fastScan(plan: ReadingPlan, collector: RowCollector): FastScan | null {
  const sole = soleColumn(plan);
  const list = collector.soleList;
  if (sole !== null && list !== null) {
    const scan = sole.facts.format.base === 16 ? scanHexadecimalCodes : scanDecimalCodes;
    return (bytes, from, to) => {
      list.reserve((to - from) >> 1);
      return scan(bytes, from, to, list);
    };
  }
  const program = tableProgram(plan);
  if (program === null) return null;
  return (bytes, from, to) => scanByProgram(bytes, from, to, program, collector);
}
