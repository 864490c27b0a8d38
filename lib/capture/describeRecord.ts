import type { CaptureSpec } from "../bench/bench.ts";
import { atPin, pinStimulus } from "../bench/pinStimulus.ts";
import { ProblemError } from "../bench/problem.ts";
import { codeOfVoltage, scaleOf } from "../bench/scale.ts";
import type { Volts } from "../bench/units.ts";
import { readName } from "./columnName.ts";
import type { Log, LogChannel } from "./log.ts";
import { plainCodes } from "./plainCodes.ts";
import type { CaptureRecord } from "./record.ts";

/**
 * Picks the capture's channel out of its log and undoes the converter's coding and alignment. Codes are never repaired: one outside the declared range
 * stays outside.
 * @throws ProblemError when the channel is not in the log, when several could be meant, when the log holds volts that nobody asked to convert, or the
 *   column of applied voltages is missing
 */
export function describeRecord(spec: CaptureSpec, log: Log): CaptureRecord {
  const channel = chooseChannel(spec, log);
  const scale = scaleOf(spec.converter);
  const remarks: string[] = [...log.remarks];
  let codes: Int32Array;
  if (channel.volts !== undefined && channel.codes.length === 0) {
    if (spec.reading.fromVolts !== true) {
      throw problem(
        spec,
        "channel",
        `the log holds only volts ("${channel.name}", ${channel.volts.length} values), no codes`,
        "raw codes",
        "Log the codes; or state `fromVolts: true` to convert the volts by the converter's scale, which adds rounding of its own",
      );
    }
    const factor = log.voltScale ?? 1;
    codes = Int32Array.from(channel.volts, (v) => Math.round(codeOfVoltage(scale, v * factor)));
    remarks.push(`codes were computed from the logged volts "${channel.name}"; the print's rounding is in them`);
  } else {
    if (spec.reading.fromVolts === true)
      remarks.push("fromVolts was stated, but the log holds codes: the codes were taken");
    codes = plainCodes(channel.codes, spec.converter, remarks);
  }
  const stimulus = pinStimulus(spec);
  const column = spec.stimulus?.kind === "steps" ? spec.stimulus.column : null;
  const time = channel.time === undefined ? log.time : channel.time;
  const sequence = channel.sequence === undefined ? log.sequence : channel.sequence;
  return {
    spec,
    log: { ...log, time, sequence, remarks },
    channel: channel.name,
    codes,
    scale,
    stimulus,
    appliedVolts: column === null ? null : appliedVolts(spec, log, channel, column),
  };
}

function chooseChannel(spec: CaptureSpec, log: Log): LogChannel {
  const wanted = spec.reading.channel;
  const choices = log.channels.map((c) => `"${c.name}"`).join(", ");
  if (wanted === undefined) {
    if (log.channels.length === 1) return log.channels[0]!;
    // One column that is named as codes beside others that only could be.
    const named = log.channels.filter((c) => readName(c.name).role === "code");
    if (named.length === 1) return named[0]!;
    throw problem(
      spec,
      "channel",
      `the log holds ${log.channels.length} channels`,
      `one of ${choices}`,
      "State `channel:` for this capture",
    );
  }
  const want = String(wanted).trim().toLowerCase();
  const found =
    log.channels.find((c) => c.name.toLowerCase() === want) ?? log.channels.find((c) => c.column === Number(want));
  if (found !== undefined) return found;
  // Read with the same hint, a tag's number has already picked its channel.
  const tagged = log.channels.find((c) => c.name.toLowerCase().endsWith(` ${want}`));
  if (tagged !== undefined) return tagged;
  const byNumber = /^\d+$/.test(want) && log.dialect.kind !== "columns" ? log.channels[Number(want) - 1] : undefined;
  if (byNumber !== undefined) return byNumber;
  throw problem(spec, "channel", `"${wanted}" is not a channel of the log`, `one of ${choices}`);
}

function appliedVolts(spec: CaptureSpec, log: Log, channel: LogChannel, column: string | number): Float64Array {
  const want = String(column).trim().toLowerCase();
  const key =
    [...log.columns.keys()].find((k) => k.toLowerCase() === want) ??
    (log.columns.size === 1 ? [...log.columns.keys()][0] : undefined);
  const volts = key === undefined ? undefined : log.columns.get(key);
  const length = channel.codes.length || (channel.volts?.length ?? 0);
  if (volts === undefined || volts.length !== length) {
    throw problem(
      spec,
      "stimulus.column",
      volts === undefined
        ? `column "${column}" of applied voltages is not in the log`
        : `column "${column}" holds ${volts.length} values for ${length} readings`,
      log.dialect.header === null
        ? "a column's number"
        : `one of ${log.dialect.header.map((h) => `"${h}"`).join(", ")}`,
    );
  }
  return volts.map((v: Volts) => atPin(spec, v));
}

function problem(spec: CaptureSpec, key: string, found: string, expected: string, next?: string): ProblemError {
  return new ProblemError([
    {
      code: "unreadable-log",
      file: spec.file,
      line: null,
      key: `${spec.name}.${key}`,
      found,
      expected,
      ...(next ? { next } : {}),
    },
  ]);
}
