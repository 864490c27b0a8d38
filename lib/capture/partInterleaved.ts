import type { LogChannel, TimeStamps } from "./log.ts";

/** Readings of a scan sequence, one after the other in the log, parted into their channels. */
export function partInterleaved(channel: LogChannel, order: readonly string[], time: TimeStamps | null): LogChannel[] {
  const names = [...new Set(order)];
  const rounds = Math.floor(channel.codes.length / order.length);
  const rest = channel.codes.length % order.length;
  return names.map((name) => {
    const places = order.flatMap((n, i) => (n === name ? [i] : []));
    const n = rounds * places.length + places.filter((p) => p < rest).length;
    const codes = new Int32Array(n);
    const seconds = time === null ? null : new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const at = Math.floor(i / places.length) * order.length + places[i % places.length]!;
      codes[i] = channel.codes[at]!;
      if (seconds !== null) seconds[i] = time!.seconds[at]!;
    }
    return { name, codes, ...(time === null ? {} : { time: { ...time, seconds: seconds! } }) };
  });
}
