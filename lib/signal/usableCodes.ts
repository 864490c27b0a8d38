/** Codes strictly between floor and ceiling; outside, on a rail or a plateau, a reading says nothing about the signal. Nor does NaN. */
export interface UsableCodes {
  readonly floor: number;
  readonly ceiling: number;
}

export const ALL_CODES: UsableCodes = { floor: Number.NEGATIVE_INFINITY, ceiling: Number.POSITIVE_INFINITY };

/** @param usable  null: every code is */
export function isUsable(code: number, usable: UsableCodes | null): boolean {
  return usable === null || (code > usable.floor && code < usable.ceiling);
}
