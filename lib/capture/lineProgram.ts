import type { KeyedColumn } from "./channelColumns.ts";
import type { RoledColumn } from "./columnRoles.ts";
import type { LineShape, Slot } from "./lineShape.ts";
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
  /** Hexadecimal only behind 0x: in text a bare word may be a name. */
  readonly marked?: boolean;
  /** Text that is passed over ends before this byte: the delimiter. */
  readonly stop?: number;
  /** Decimal character of a real number; a point where none is given. */
  readonly point?: number;
}

export const STEP = { literal: 0, blanks: 1, someBlanks: 2, whole: 3, real: 4, text: 5, end: 6, clock: 7 } as const;

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
    } else if (column.role === "time" || column.role === "stimulus") {
      const { kind, base, decimal, group } = column.facts.format;
      if (kind === "clock" || base !== 10 || group !== null) return null;
      build.slot(STEP.real, { column: column.index, base: 10, point: decimal.charCodeAt(0) });
    } else build.slot(STEP.text, { column: -1, base: 10, stop: delimiter?.charCodeAt(0) ?? 32 });
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

/**
 * The program of lines like this one, which a shape of terminal text was learnt from: its text to the letter, its numbers as slots.
 * @param places  for each slot of the shape its column, −1 for none
 * @returns null when a number needs the general way
 */
export function shapeProgram(
  line: string,
  shape: LineShape,
  places: readonly number[],
  columns: readonly KeyedColumn[],
): LineProgram | null {
  // The bytes of other characters depend on the log's encoding.
  if (/[^\x20-\x7e\t]/.test(line)) return null;
  const build = new ProgramBuilder();
  let at = 0;
  const literal = (to: number): boolean => {
    const text = line.slice(at, to);
    // `pin 12:` may be a name with a number in it, by how many digits it has: such lines are left to the general way.
    if (at > 0 && /^(?:[\])]?\s*[:=]|\.)/.test(text)) return false;
    for (let i = 0; i < text.length; i++) {
      if (text[i] === " " || text[i] === "\t") {
        if (i > 0 && (text[i - 1] === " " || text[i - 1] === "\t")) continue;
        build.step(STEP.someBlanks);
      } else build.step(STEP.literal, text.charCodeAt(i));
    }
    return true;
  };
  for (const [i, slot] of shape.slots.entries()) {
    if (!literal(slot.start)) return null;
    const column = columns[places[i]!];
    const kind = stepOf(slot, column);
    if (kind === null || (slot.suffix !== null && slot.suffix !== column?.suffix)) return null;
    const marked = /^0[xX]/.test(slot.text);
    if (column?.facts.format.base === 16 && !marked) return null;
    const used =
      column !== undefined && column.role !== "ignore" && column.role !== "volts" && column.timeUnit !== "unknown";
    build.slot(kind, { column: used ? column.index : -1, base: column?.facts.format.base === 16 ? 16 : 10, marked });
    at = slot.end;
  }
  if (!literal(line.length)) return null;
  build.step(STEP.blanks);
  return build.done();
}

function stepOf(slot: Slot, column: RoledColumn | undefined): number | null {
  if (slot.kind === "clock") return /^\d{2}:\d{2}:\d{2}(?:\.\d{1,9})?$/.test(slot.text) ? STEP.clock : null;
  if (column === undefined || column.role === "tag" || column.role === "stimulus") return null;
  if (column.role === "code" || column.role === "sequence") return isPlainWhole(column) ? STEP.whole : null;
  const { kind, base, decimal, group } = column.facts.format;
  return kind !== "text" && kind !== "clock" && base === 10 && decimal === "." && group === null ? STEP.real : null;
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
