import type { RoledColumn } from "./columnRoles.ts";
import type { ReadingPlan } from "./readingPlan.ts";

/**
 * A plain line as a list of steps over its bytes, for the fast scanner: literal bytes, blanks, and slots whose numbers are wanted. Lines that do not
 * follow it to the letter are read the general way, so a program only has to be right about the lines it accepts.
 */
export interface LineProgram {
  /** Step kinds, see STEP. */
  readonly steps: Uint8Array;
  /** For LITERAL the byte, for a slot the index into `slots`. */
  readonly operands: Uint8Array;
  readonly slots: readonly ProgramSlot[];
}

export interface ProgramSlot {
  /** Where the number goes; -1: it is only passed over. */
  readonly column: number;
  readonly base: 10 | 16;
}

export const STEP = { literal: 0, blanks: 1, someBlanks: 2, whole: 3, real: 4, text: 5, end: 6 } as const;

/** The one column of a log with one plain whole number a line, or null: that has a tighter loop of its own. */
export function soleColumn(plan: ReadingPlan): RoledColumn | null {
  const column = plan.columns[0];
  if (plan.kind !== "columns" || plan.delimiter !== null || plan.columns.length !== 1 || column === undefined)
    return null;
  return column.role === "code" && isPlainWhole(column) ? column : null;
}

/**
 * The program of a table's lines.
 * @returns null when a column needs the general way: quoting, grouping, decimal commas, clock times, bytes in pairs
 */
export function tableProgram(plan: ReadingPlan): LineProgram | null {
  if (plan.kind !== "columns" || plan.layout !== "rows" || plan.bytePairs !== null || plan.perLine) return null;
  const { delimiter } = plan;
  if (delimiter !== null && (delimiter.length !== 1 || delimiter.charCodeAt(0) > 126 || delimiter === "|")) return null;
  if (!plan.columns.some((c) => c.role === "code")) return null;
  const build = new ProgramBuilder();
  for (const [i, column] of plan.columns.entries()) {
    if (i === 0 || delimiter !== " ") build.step(STEP.blanks);
    if (column.role === "code" || column.role === "sequence") {
      if (!isPlainWhole(column)) return null;
      build.slot(STEP.whole, { column: column.index, base: column.facts.format.base === 16 ? 16 : 10 });
    } else if ((column.role === "time" && column.timeUnit !== "unknown") || column.role === "stimulus") {
      const { kind, base, decimal, group } = column.facts.format;
      if (kind === "clock" || base !== 10 || decimal !== "." || group !== null) return null;
      build.slot(STEP.real, { column: column.index, base: 10 });
    } else build.slot(STEP.text, { column: -1, base: 10 });
    if (i < plan.columns.length - 1) {
      if (delimiter === " ") build.step(STEP.someBlanks);
      else if (delimiter !== null) {
        build.step(STEP.blanks);
        build.step(STEP.literal, delimiter.charCodeAt(0));
      }
    }
  }
  build.step(STEP.blanks);
  return build.done();
}

function isPlainWhole(column: RoledColumn): boolean {
  const { kind, base, group } = column.facts.format;
  return kind === "whole" && (base === 10 || base === 16) && group === null;
}

/** Steps in the making. */
export class ProgramBuilder {
  readonly #steps: number[] = [];
  readonly #operands: number[] = [];
  readonly #slots: ProgramSlot[] = [];

  step(kind: number, operand = 0): void {
    this.#steps.push(kind);
    this.#operands.push(operand);
  }
  slot(kind: number, slot: ProgramSlot): void {
    this.step(kind, this.#slots.length);
    this.#slots.push(slot);
  }
  done(): LineProgram | null {
    if (this.#slots.length > 200) return null;
    this.step(STEP.end);
    return { steps: Uint8Array.from(this.#steps), operands: Uint8Array.from(this.#operands), slots: this.#slots };
  }
}
