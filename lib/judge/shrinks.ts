/**
 * Whether more readings of the same kind make a named share of a record's uncertainty smaller. Quantisation of a noise-free level, a source's
 * linearity or repeatability, drift, unknown code widths and too few distinct phases stay as they are however long the record.
 * @param from  the share's name in Estimate.shares or Budget.parts
 */
export function shrinksWithReadings(from: string): boolean {
  return !/quanti[sz]|linearity|repeatab|drift|distortion|leakage|model|settling|phases|code widths/i.test(from);
}
