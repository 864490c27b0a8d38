import type { Log, LogChannel } from "../capture/log.ts";
import { timeStampRate } from "../match/timeStampRate.ts";
import { describeValues } from "../signal/descriptive.ts";
import { countCodes } from "./countCodes.ts";
import { courseOf } from "./courseOf.ts";
import type { ChannelInspection, Inspection } from "./inspection.ts";
import { suggestBits } from "./suggestBits.ts";

/** What a log says by itself: statistics and course of each channel, probable sample rate, readings that the sequence numbers miss. */
export function inspectLog(log: Log): Inspection {
  const time = log.time ?? log.channels[0]?.time ?? null;
  const stamped = time === null ? null : timeStampRate(time);
  const statedRate = log.statedRate ?? null;
  const rate = stamped?.rate ?? statedRate;
  const lengths = log.channels.map((c) => c.codes.length || (c.volts?.length ?? 0));
  // Channels with readings of their own (tags, scan sequences) have time of their own, or none; columns of a table share it.
  const own = log.channels.length > 1 && log.separateChannels === true;
  let missing: Inspection["missing"] = null;
  const sequences =
    log.sequence !== null ? [log.sequence] : log.channels.flatMap((c) => (c.sequence ? [c.sequence] : []));
  if (sequences.length > 0) {
    const gaps = sequences.flatMap((s) => s.gaps);
    missing = { gaps: gaps.length, readings: gaps.reduce((n, g) => n + g.missing, 0) };
  }
  return {
    readings: own ? lengths.reduce((a, b) => a + b, 0) : Math.max(0, ...lengths),
    channels: log.channels.map((channel) => {
      const stampedOwn = channel.time ? timeStampRate(channel.time) : null;
      return inspectChannel(channel, log.voltScale ?? 1, stampedOwn?.rate ?? rate);
    }),
    sampleRate:
      stamped !== null
        ? { value: stamped.rate, unit: "Hz", basis: "timestamps", uncertainty: stamped.limit * stamped.rate }
        : statedRate !== null
          ? { value: statedRate, unit: "Hz", basis: "comment", uncertainty: null }
          : null,
    missing,
    log,
  };
}

function inspectChannel(channel: LogChannel, voltScale: number, rate: number | null): ChannelInspection {
  if (channel.volts !== undefined && channel.codes.length === 0) {
    const volts = channel.volts.map((v) => v * voltScale);
    const { count, mean, sd, min, max } = describeValues(volts);
    const distinct = new Set(volts.subarray(0, 5_000_000)).size;
    return {
      name: channel.name,
      readings: count,
      unit: "V",
      min,
      max,
      mean,
      sd,
      distinct: volts.length > 5_000_000 ? null : distinct,
      bits: null,
      course: courseOf(volts, rate),
    };
  }
  const counts = countCodes(channel.codes);
  return {
    name: channel.name,
    readings: channel.codes.length,
    unit: "codes",
    min: counts.min,
    max: counts.max,
    mean: counts.mean,
    sd: counts.sd,
    distinct: counts.distinct,
    bits: suggestBits(channel.codes, counts),
    course: courseOf(channel.codes, rate),
  };
}
