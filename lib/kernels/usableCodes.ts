/** Codes strictly between floor and ceiling: the others, on a rail or a plateau, say nothing. */
export class UsableCodes {
  floor: f64 = -Infinity;
  ceiling: f64 = Infinity;
}

export function isUsable(code: f64, usable: UsableCodes): bool {
  return code > usable.floor && code < usable.ceiling;
}
