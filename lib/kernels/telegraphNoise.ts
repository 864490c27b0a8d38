/** Values in two groups, and how they lie about the groups' means. */
export class TwoGroups {
  low: f64 = 0;
  high: f64 = 0;
  /** Standard deviation about the own group's mean. */
  spread: f64 = 0;
  /** Values in the middle third between the means. */
  between: i32 = 0;
  /** Changes from one group to the other. */
  switches: i32 = 0;
  lowCount: i32 = 0;
}

/** Two means; null where one group stays empty. Source: Lloyd, IEEE Trans. Information Theory 28, 1982. */
export function twoGroups(values: Float64Array): TwoGroups | null {
  let least = Infinity;
  let most = -Infinity;
  for (let i = 0; i < values.length; i++) {
    if (values[i] < least) least = values[i];
    if (values[i] > most) most = values[i];
  }
  if (!(most > least)) return null;
  const groups = new TwoGroups();
  groups.low = least + (most - least) / 4;
  groups.high = most - (most - least) / 4;
  for (let round = 0; round < 20; round++) {
    const cut = (groups.low + groups.high) / 2;
    let below: f64 = 0;
    let above: f64 = 0;
    let count = 0;
    for (let i = 0; i < values.length; i++) {
      if (values[i] < cut) {
        below += values[i];
        count++;
      } else above += values[i];
    }
    if (count === 0 || count === values.length) return null;
    const low = below / count;
    const high = above / (values.length - count);
    if (low === groups.low && high === groups.high) break;
    groups.low = low;
    groups.high = high;
  }
  const cut = (groups.low + groups.high) / 2;
  const third = (groups.high - groups.low) / 6;
  let squares: f64 = 0;
  for (let i = 0; i < values.length; i++) {
    const isLow = values[i] < cut;
    if (isLow) groups.lowCount++;
    const away = values[i] - (isLow ? groups.low : groups.high);
    squares += away * away;
    if (abs<f64>(values[i] - cut) < third) groups.between++;
    if (i > 0 && isLow !== values[i - 1] < cut) groups.switches++;
  }
  groups.spread = sqrt<f64>(squares / values.length);
  return groups;
}
