import { type LineProgram, soleColumn, tableProgram } from "./lineProgram.ts";
import type { ReadingPlan } from "./readingPlan.ts";
import type { RowCollector } from "./rowCollector.ts";
import { scanDecimalCodes, scanDecimalLists, scanHexadecimalCodes } from "./scanCodes.ts";
import { type RunningProgram, scanByProgram } from "./scanProgram.ts";

/** Reads plain lines straight from the bytes; stops at the first line that it is not sure about. */
export interface FastScan {
  /** @returns where the first line begins that was not read */
  scan(bytes: Uint8Array, from: number, to: number): number;
  /** Lines read so far by all calls. */
  lines: number;
}

/** The fast scanner for this plan, or null where every line needs the general way. */
export function fastScan(plan: ReadingPlan, collector: RowCollector): FastScan | null {
  const sole = soleColumn(plan);
  const list = collector.soleList;
  if (sole !== null && list !== null) {
    const scan = sole.facts.format.base === 16 ? scanHexadecimalCodes : scanDecimalCodes;
    const fast: FastScan = {
      lines: 0,
      scan(bytes, from, to) {
        list.reserve((to - from) >> 1);
        const before = list.length;
        const at = scan(bytes, from, to, list);
        fast.lines += list.length - before;
        return at;
      },
    };
    return fast;
  }
  const delimiter = listDelimiter(plan);
  if (delimiter !== null && list !== null) {
    const fast: FastScan = {
      lines: 0,
      scan(bytes, from, to) {
        list.reserve((to - from) >> 1);
        return scanDecimalLists(bytes, from, to, list, delimiter, fast);
      },
    };
    return fast;
  }
  const table = tableProgram(plan);
  const programs = (table === null ? (plan.programs ?? []) : [table]).map((program) => run(program, collector));
  return programs.length === 0 ? null : programScan(programs);
}

/** The byte between the readings of a log that holds nothing but lists of plain decimal numbers. */
function listDelimiter(plan: ReadingPlan): number | null {
  const column = plan.columns[0];
  if (plan.kind !== "columns" || !plan.perLine || plan.columns.length !== 1 || column === undefined) return null;
  const { format } = column.facts;
  const isPlain = format.kind === "whole" && format.base === 10 && format.group === null;
  const { delimiter } = plan;
  return isPlain && delimiter !== null && /^[,; \t]$/.test(delimiter) ? delimiter.charCodeAt(0) : null;
}

function run(program: LineProgram, collector: RowCollector): RunningProgram {
  return {
    program,
    values: new Float64Array(program.slots.length),
    take: collector.taker(program.slots.map((s) => s.column)),
  };
}

/** Several programs take turns: a line that one does not read may be another's. */
function programScan(programs: readonly RunningProgram[]): FastScan {
  let current = 0;
  const fast: FastScan = {
    lines: 0,
    scan(bytes, from, to) {
      let at = from;
      let failed = 0;
      while (at < to && failed < programs.length) {
        const next = scanByProgram(bytes, at, to, programs[current]!, fast);
        failed = next > at ? 0 : failed + 1;
        at = next;
        if (at < to) current = (current + 1) % programs.length;
      }
      return at;
    },
  };
  return fast;
}
