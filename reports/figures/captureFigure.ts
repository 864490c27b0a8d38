/** Points that a page keeps of one curve; longer curves become smallest and largest values. */
export const MOST_POINTS = 4200;
/** Columns of a reduced curve: more than a page is wide. */
export const COLUMNS = 1000;

/** An id of letters, digits and hyphens for any capture name, unique by its place in the session. */
export function figureId(kind: string, index: number): string {
  return `${kind}-${index + 1}`;
}
