/**
 * A number for a sentence: two significant digits (or as many as asked), large ones with their thousands set apart.
 * @example significant(0.03512) // "0.035"
 * @example significant(1234567) // "1 200 000"
 */
export function significant(value: number, digits = 2): string {
  const rounded = Number(value.toPrecision(digits));
  const size = Math.abs(rounded);
  if (size !== 0 && (size < 1e-4 || size >= 1e10)) return rounded.toExponential(digits - 1).replace("-", "−");
  const places = size === 0 ? 0 : Math.max(0, digits - 1 - Math.floor(Math.log10(size)));
  const [whole = "0", fraction] = size.toFixed(Math.min(20, places)).split(".");
  const spaced = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, " ") : whole;
  return `${rounded < 0 ? "−" : ""}${spaced}${fraction === undefined ? "" : `.${fraction}`}`;
}
