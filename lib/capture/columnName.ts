/** What a column's or key's name says it holds; null where the name says nothing. */
export type NamedRole = "time" | "sequence" | "volts" | "tag" | "code" | "other";
export type NamedUnit = "s" | "ms" | "us" | "ns" | "ticks" | "V" | "mV" | "uV" | null;

const UNITS: readonly [RegExp, NamedUnit][] = [
  [/^(?:us|µs|μs|usecs?|usec|micros|microseconds?|mikrosekunden)$/, "us"],
  [/^(?:ms|msecs?|millis|milliseconds?|millisekunden)$/, "ms"],
  [/^(?:ns|nsecs?|nanos|nanoseconds?)$/, "ns"],
  [/^(?:s|secs?|seconds?|sekunden)$/, "s"],
  [/^(?:ticks?|cycles?|cyccnt|clocks?|clk|counts)$/, "ticks"],
  [/^(?:v|volts?)$/, "V"],
  [/^(?:mv|millivolts?)$/, "mV"],
  [/^(?:uv|µv|μv|microvolts?)$/, "uV"],
];

const TIME =
  /^(?:t|ts|time|times|timestamps?|stamp|tstamp|zeit|temps|tiempo|tempo|tid|uptime|millis|micros|nanos|ms|msec|us|usec|µs|ns|nsec|s|sec|secs|seconds?|ticks?|elapsed|clock|clk|date|datetime|cyccnt|cycles?|timer|systick|epoch|uhrzeit|datum|milliseconds?|microseconds?|nanoseconds?|t\d)$/;
const SEQUENCE =
  /^(?:n|i|k|idx|index|no|nr|num|seq|seqno|seqnum|sequence|sample|samples|smp|count|counter|cnt|ctr|line|row|id|packet|pkt|frame|lfd|rec|record|point|pt|number|step)$/;
const VOLTS = /^(?:v|volts?|voltage|mv|uv|spannung|vin|vout|vmeas|tension|u|millivolts?|vbat|vdc|vref|avg_v)$/;
const TAG = /^(?:ch|chan|chans|channel|channels|mux|kanal|canal|voie|input|port|pin|ain|source|src)$/;
const CODE =
  /^(?:adc|adcs|code|codes|raw|value|values|val|vals|reading|readings|lsb|lsbs|dn|data|ch|chan|channel|ain|an|analog|adcraw|adcval|adcvalue|conv|result|out|dout|word|sig|signal|y|x|in|hex|dec|wert|rohwert|valeur|valor|ds|mesure|messwert)$/;
const OTHER =
  /^(?:crc|crc8|crc16|crc32|checksum|chk|chksum|sum|status|stat|state|flags?|err|error|errors|temp|temperature|tempc|degc|heap|free|rssi|len|length|load|gain|pga|bits?|rate|freq|frequency|hz|baud|version|ver|level|lvl|prio|priority|core|cpu|task|line_no|battery|bat|vcc|vdd|humidity|pressure|mean|avg|average|sd|std|stddev|min|max|rms|percent|pct|duty|lat|lon|speed)$/;

/** A name cut into its words, unit apart: `ADC0 (mV)` is ["adc0"] with unit mV; `t_us` is ["t"] with unit µs. */
export function readName(name: string): { role: NamedRole | null; unit: NamedUnit; words: readonly string[] } {
  const spaced = name
    .replace(/^[\s#"'*]+|[\s"':=]+$/g, "")
    .replace(/([a-zµμ\d])([A-Z][a-z])/g, "$1 $2")
    .replace(/([a-z])(MS|US|NS|MV)$/, "$1 $2");
  const words = spaced
    .toLowerCase()
    .split(/[^\p{L}\d]+/u)
    .filter((w) => w !== "");
  let unit: NamedUnit = null;
  if (words.length > 1 || /^[a-z]/i.test(spaced)) {
    const last = words[words.length - 1] ?? "";
    for (const [test, u] of UNITS) if (test.test(last)) unit = u;
  }
  const core = unit !== null && words.length > 1 ? words.slice(0, -1) : words;
  return { role: roleOf(core, unit), unit, words };
}

function roleOf(words: readonly string[], unit: NamedUnit): NamedRole | null {
  if (words.length === 0) return null;
  const timeUnit = unit === "s" || unit === "ms" || unit === "us" || unit === "ns" || unit === "ticks";
  const any = (test: RegExp): boolean => words.some((w) => test.test(w));
  // Channel names carry a number: adc0, ch1, a3, ain2, adc1_in5.
  const numbered = words.some((w) =>
    /^(?:adc|ch|chan|channel|ain|an|a|in|ai|sensor|pin|raw|code|val|value|p[a-h]|kanal|canal|sig|inp|d|x|y)\d{1,3}$/.test(
      w,
    ),
  );
  const voltUnit = unit === "V" || unit === "mV" || unit === "uV";
  if (voltUnit) return "volts";
  if (timeUnit && !numbered && !any(CODE)) return "time";
  const first = words[0]!;
  const lastWord = words[words.length - 1]!;
  if (words.length === 1) {
    if (TIME.test(first)) return "time";
    if (VOLTS.test(first)) return "volts";
    if (TAG.test(first)) return "tag";
    if (SEQUENCE.test(first)) return "sequence";
    if (CODE.test(first) || numbered) return "code";
    return OTHER.test(first) ? "other" : null;
  }
  if (any(/^(?:raw|code|codes|lsb|adc|counts?)$/) && !any(/^(?:volts?|voltage|mv|time|timestamp)$/)) {
    // "sample count", "adc time": the last word is what the column is.
    if (/^(?:no|nr|num|number|index|idx|id|seq)$/.test(lastWord)) return "sequence";
    return "code";
  }
  if (any(/^(?:time|timestamp|stamp|zeit|uptime|elapsed|clock|millis|micros|ticks?|date)$/)) return "time";
  if (any(/^(?:volts?|voltage|spannung|tension)$/) || VOLTS.test(lastWord)) return "volts";
  if (/^(?:no|nr|num|number|index|idx|id|counter|seq|cnt)$/.test(lastWord) || SEQUENCE.test(first)) {
    return TAG.test(first) ? "tag" : "sequence";
  }
  if (numbered || any(CODE)) return "code";
  return any(OTHER) ? "other" : null;
}
