import type { Inspection } from "../lib/inspect/inspection.ts";

/** Where an inspected log came from. */
export interface InspectedSource {
  readonly file: string;
  readonly sha256: string;
  readonly bytes: number;
}

/** An inspection as JSON, schema "codestair-inspection/1". */
export function inspectionJson(inspection: Inspection, source: InspectedSource): unknown {
  const { log } = inspection;
  const { dialect } = log;
  return {
    schema: "codestair-inspection/1",
    file: source.file,
    sha256: source.sha256,
    bytes: source.bytes,
    dialect: dialect.sentence,
    kind: dialect.kind,
    encoding: dialect.encoding,
    compressed: dialect.compressed,
    delimiter: dialect.delimiter,
    decimal: dialect.decimal,
    header: dialect.header,
    base: dialect.base,
    forced: dialect.forced,
    readings: inspection.readings,
    lines: log.lines,
    channels: inspection.channels.map(({ bits, ...channel }) => ({
      ...channel,
      bits: bits === null ? null : bits.bits,
      bitsNeeded: bits?.needed ?? null,
      signed: bits?.signed ?? null,
      unusedLowBits: bits?.unusedLowBits ?? null,
      bitActivity: bits?.activity ?? null,
    })),
    sampleRate: inspection.sampleRate,
    time:
      log.time === null
        ? null
        : { name: log.time.name, unit: log.time.unit, resolution: log.time.resolution, rollovers: log.time.rollovers },
    sequence:
      log.sequence === null && inspection.missing === null
        ? null
        : { name: log.sequence?.name ?? null, ...inspection.missing },
    skipped: log.skipped.map((s) => ({ reason: s.reason, count: s.count, examples: s.examples })),
    remarks: log.remarks,
  };
}
