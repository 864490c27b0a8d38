import type { LogChannel, TimeStamps } from "./log.ts";

/** Bytes printed one after the other, two of which make a reading. */
export function joinBytes(channel: LogChannel, order: "big-endian" | "little-endian"): LogChannel {
  const { codes } = channel;
  const joined = new Int32Array(codes.length >> 1);
  const [high, low] = order === "big-endian" ? [0, 1] : [1, 0];
  for (let i = 0; i < joined.length; i++) joined[i] = (codes[2 * i + high]! << 8) | codes[2 * i + low]!;
  return { ...channel, codes: joined };
}

/** The stamp of each pair's first byte. */
export function everySecond(time: TimeStamps): TimeStamps {
  return { ...time, seconds: time.seconds.filter((_, i) => i % 2 === 0).subarray(0, time.seconds.length >> 1) };
}
