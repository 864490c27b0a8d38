/** Ways in which firmware, terminals, debuggers and spreadsheets print readings: each writes codes that the reader must give back. */
export interface DialectCase {
  readonly name: string;
  /** One channel's codes as a log. */
  readonly write: (codes: readonly number[]) => string | Uint8Array;
  /** The channel the codes are in, where the log holds several. */
  readonly channel?: string;
  /** Other channels' codes, computed from the first. */
  readonly others?: Readonly<Record<string, (code: number, n: number) => number>>;
  /** Lines that give no reading. */
  readonly skipped?: number;
  /** Fewest readings from which the dialect can be told. */
  readonly fewest?: number;
  /** Codes that this dialect cannot print: negative, or above so many bits. */
  readonly unsignedBits?: number;
  readonly time?: boolean;
  /** Only the codes' course shows which of two ways to read the log is right. */
  readonly byCourse?: boolean;
  /** Signals whose codes do not show this dialect. */
  readonly not?: readonly string[];
}

const lines = (rows: readonly string[], end = "\n"): string => rows.map((r) => r + end).join("");
const hex = (v: number, width: number): string =>
  (v >>> 0).toString(16).padStart(width, "0").slice(-Math.max(width, 1));
const HEX = (v: number, width: number): string => hex(v, width).toUpperCase();
const group = (v: number, sign: string): string => String(v).replace(/\B(?=(\d{3})+$)/g, sign);
const clock = (n: number, digits = 3): string => {
  const s = 43_435 + n * 0.02;
  const whole = Math.floor(s);
  const pad = (x: number): string => String(x).padStart(2, "0");
  return `${pad(Math.floor(whole / 3600))}:${pad(Math.floor(whole / 60) % 60)}:${pad(whole % 60)}.${Math.floor(
    (s - whole) * 10 ** digits + 0.5,
  )
    .toString()
    .padStart(digits, "0")
    .slice(0, digits)}`;
};
const chunks = <T>(xs: readonly T[], size: number): T[][] =>
  Array.from({ length: Math.ceil(xs.length / size) }, (_, i) => xs.slice(i * size, i * size + size));
const utf16 = (text: string, little: boolean, mark: boolean): Uint8Array => {
  const out: number[] = mark ? (little ? [0xff, 0xfe] : [0xfe, 0xff]) : [];
  for (const c of text) {
    const u = c.charCodeAt(0);
    if (little) out.push(u & 255, u >> 8);
    else out.push(u >> 8, u & 255);
  }
  return Uint8Array.from(out);
};
const BOOT = [
  "rst:0x1 (POWERON_RESET),boot:0x13 (SPI_FAST_FLASH_BOOT)",
  "configsip: 0, SPIWP:0xee",
  "load:0x3fff0030,len:1184",
  "load:0x40078000,len:13132",
  "entry 0x400805f0",
  "river gauge logger ver 1.2.3 build 20240117",
  "UART 115200 baud, 8N1",
  "cpu freq: 240 MHz, heap 287464 bytes",
  "ADC offset cal: 12",
  "Calibrating... done in 35 ms",
];

export const DIALECT_CASES: readonly DialectCase[] = [
  { name: "one code a line", write: (c) => lines(c.map(String)) },
  { name: "no final line end", write: (c) => c.join("\n") },
  { name: "CR LF", write: (c) => lines(c.map(String), "\r\n") },
  { name: "CR alone", write: (c) => lines(c.map(String), "\r") },
  { name: "LF CR", write: (c) => lines(c.map(String), "\n\r") },
  { name: "CR CR LF", write: (c) => lines(c.map(String), "\r\r\n") },
  { name: "blank line between", write: (c) => lines(c.map(String), "\n\n"), skipped: -1 },
  { name: "right-aligned numbers", write: (c) => lines(c.map((v) => String(v).padStart(7))) },
  { name: "one column with header", write: (c) => lines(["adc", ...c.map(String)]), skipped: 1 },
  { name: "one column, header in words", write: (c) => lines(["ADC reading", ...c.map(String)]), skipped: 1 },
  { name: "header that is hexadecimal by chance", write: (c) => lines(["adc0", ...c.map(String)]), skipped: 1 },
  { name: "quoted numbers", write: (c) => lines(c.map((v) => `"${v}"`)) },
  { name: "trailing comma", write: (c) => lines(c.map((v) => `${v},`)) },
  { name: "trailing semicolon", write: (c) => lines(c.map((v) => `${v};`)) },
  { name: "floats that are whole", write: (c) => lines(c.map((v) => v.toFixed(1))) },
  { name: "floats with six zeros", write: (c) => lines(c.map((v) => v.toFixed(6))) },
  {
    name: "scientific, 18 digits",
    write: (c) => lines(c.map((v) => v.toExponential(18).replace(/e\+(\d)$/, "e+0$1"))),
  },
  { name: "explicit plus signs", write: (c) => lines(c.map((v) => (v < 0 ? String(v) : `+${v}`))) },
  {
    name: "leading zeros",
    write: (c) => lines(c.map((v) => (v < 0 ? `-${String(-v).padStart(5, "0")}` : String(v).padStart(5, "0")))),
  },
  { name: "0x lower case", write: (c) => lines(c.map((v) => `0x${hex(v, 4)}`)), unsignedBits: 16 },
  { name: "0X upper case", write: (c) => lines(c.map((v) => `0X${HEX(v, 4)}`)), unsignedBits: 16 },
  { name: "0x without padding", write: (c) => lines(c.map((v) => `0x${v.toString(16)}`)), unsignedBits: 32 },
  { name: "bare hexadecimal, padded", write: (c) => lines(c.map((v) => HEX(v, 4))), unsignedBits: 16, fewest: 40 },
  {
    name: "bare hexadecimal, not padded",
    write: (c) => lines(c.map((v) => v.toString(16))),
    unsignedBits: 16,
    fewest: 40,
  },
  { name: "hexadecimal with h", write: (c) => lines(c.map((v) => `${HEX(v, 4)}h`)), unsignedBits: 16 },
  { name: "hexadecimal with $", write: (c) => lines(c.map((v) => `$${HEX(v, 4)}`)), unsignedBits: 16 },
  { name: "0b binary", write: (c) => lines(c.map((v) => `0b${v.toString(2).padStart(16, "0")}`)), unsignedBits: 16 },
  { name: "bare binary", write: (c) => lines(c.map((v) => v.toString(2).padStart(16, "0"))), unsignedBits: 16 },
  {
    name: "binary in nibbles",
    write: (c) =>
      lines(
        c.map(
          (v) =>
            `0b${v
              .toString(2)
              .padStart(16, "0")
              .replace(/(....)(?=.)/g, "$1_")}`,
        ),
      ),
    unsignedBits: 16,
  },
  {
    name: "thousands by comma, quoted",
    write: (c) => lines(["n,adc", ...c.map((v, i) => `${i},"${group(v, ",")}"`)]),
    skipped: 1,
  },
  {
    name: "thousands by point, semicolons, decimal comma",
    write: (c) =>
      lines(["t (s);adc", ...c.map((v, i) => `${(i * 0.02).toFixed(3).replace(".", ",")};${group(v, ".")}`)]),
    skipped: 1,
    fewest: 30,
  },
  {
    name: "thousands by blank, tabs",
    write: (c) => lines(["n\tcode", ...c.map((v, i) => `${i}\t${group(v, " ")}`)]),
    skipped: 1,
  },
  { name: "thousands by apostrophe", write: (c) => lines(c.map((v) => group(v, "'"))) },
  {
    name: "csv, time in µs",
    write: (c) => lines(["t_us,adc0", ...c.map((v, i) => `${i * 20},${v}`)]),
    skipped: 1,
    time: true,
  },
  {
    name: "csv, time in ms, capital header",
    write: (c) => lines(["Time (ms),ADC Value", ...c.map((v, i) => `${i},${v}`)]),
    skipped: 1,
    time: true,
  },
  {
    name: "csv, blanks behind commas",
    write: (c) =>
      lines(["timestamp_ms, adc, volts", ...c.map((v, i) => `${i * 2}, ${v}, ${((v / 4096) * 3.3).toFixed(4)}`)]),
    skipped: 1,
    time: true,
  },
  {
    name: "csv, time in s",
    write: (c) => lines(["time,raw", ...c.map((v, i) => `${(i * 0.00002).toFixed(5)},${v}`)]),
    skipped: 1,
    time: true,
  },
  { name: "csv without header, sequence first", write: (c) => lines(c.map((v, i) => `${i + 1},${v}`)), fewest: 12 },
  {
    name: "csv without header, sequence, code, volts",
    write: (c) => lines(c.map((v, i) => `${i + 626},${v},${((v / 4096) * 3.3).toFixed(2)}`)),
    fewest: 12,
  },
  {
    name: "csv, code, volts in mV",
    write: (c) => lines(["adc,mv", ...c.map((v) => `${v},${Math.round((v / 4096) * 3300)}`)]),
    skipped: 1,
  },
  {
    name: "csv, volts first",
    write: (c) => lines(["Voltage [V],ADC [LSB]", ...c.map((v) => `${((v / 4096) * 3.3).toFixed(3)},${v}`)]),
    skipped: 1,
  },
  {
    name: "semicolons, decimal comma",
    write: (c) =>
      lines([
        "Zeit (s);Rohwert;Spannung (V)",
        ...c.map(
          (v, i) =>
            `${(i * 0.001).toFixed(3).replace(".", ",")};${v};${((v / 4096) * 3.3).toFixed(3).replace(".", ",")}`,
        ),
      ]),
    skipped: 1,
    time: true,
  },
  {
    name: "sep= line of a spreadsheet",
    write: (c) => lines(["sep=;", "t_ms;code", ...c.map((v, i) => `${i};${v}`)]),
    skipped: 2,
    time: true,
  },
  {
    name: "tabs",
    write: (c) => lines(["idx\ttime_us\tcode", ...c.map((v, i) => `${i}\t${i * 50}\t${v}`)]),
    skipped: 1,
    time: true,
  },
  {
    name: "pipes",
    write: (c) => lines(["| n | code |", "|---|------|", ...c.map((v, i) => `| ${i} | ${v} |`)]),
    skipped: 2,
  },
  {
    name: "columns padded with blanks",
    write: (c) =>
      lines(["  time_us    adc0", ...c.map((v, i) => `${String(i * 100).padStart(9)} ${String(v).padStart(7)}`)]),
    skipped: 1,
    time: true,
  },
  {
    name: "two channels",
    write: (c) => lines(["t_us,adc0,adc1", ...c.map((v, i) => `${i * 20},${v},${4095 - (v & 4095)}`)]),
    channel: "adc0",
    others: { adc1: (v) => 4095 - (v & 4095) },
    skipped: 1,
    time: true,
  },
  {
    name: "comments with the names",
    write: (c) =>
      lines([
        "# river gauge, board A",
        "# Sampling rate: 1000 Hz",
        "# t_us, adc0",
        ...c.map((v, i) => `${i * 1000}, ${v}`),
      ]),
    skipped: 3,
    time: true,
  },
  {
    name: "preamble of key, value",
    write: (c) =>
      lines([
        "Instrument,River gauge",
        "Date,2024-01-17",
        "Sample interval,0.001",
        "",
        "Time (s),CH1 (LSB)",
        ...c.map((v, i) => `${(i / 1000).toFixed(3)},${v}`),
      ]),
    skipped: 5,
    time: true,
    fewest: 12,
  },
  {
    name: "index column without a name",
    write: (c) => lines([",adc", ...c.map((v, i) => `${i},${v}`)]),
    skipped: 1,
    fewest: 12,
  },
  {
    name: "status column of text",
    write: (c) => lines(["t_ms,status,adc", ...c.map((v, i) => `${i},OK,${v}`)]),
    skipped: 1,
    time: true,
  },
  {
    name: "quoted everything",
    write: (c) => lines(['"Time","Code"', ...c.map((v, i) => `"${(i * 0.01).toFixed(2)}","${v}"`)], "\r\n"),
    skipped: 1,
    time: true,
  },
  {
    name: "dates and times",
    write: (c) => lines(["timestamp,adc", ...c.map((v, i) => `2024-05-01T${clock(i)}Z,${v}`)]),
    skipped: 1,
    time: true,
  },
  {
    name: "date, blank, time; semicolon",
    write: (c) => lines(["Datum;Wert", ...c.map((v, i) => `01.05.2024 ${clock(i)};${v}`)]),
    skipped: 1,
    time: true,
  },
  { name: "clock and code, blanks", write: (c) => lines(c.map((v, i) => `${clock(i)} ${v}`)), time: true },
  { name: "byte order mark", write: (c) => `\ufeff${lines(["adc", ...c.map(String)])}`, skipped: 1 },
  {
    name: "UTF-16 LE with mark",
    write: (c) => utf16(lines(["t_us,adc", ...c.map((v, i) => `${i},${v}`)], "\r\n"), true, true),
    skipped: 1,
    time: true,
  },
  { name: "UTF-16 BE with mark", write: (c) => utf16(lines(c.map(String), "\r\n"), false, true) },
  {
    name: "UTF-16 LE without mark",
    write: (c) => utf16(lines(["adc", ...c.map(String)], "\r\n"), true, false),
    skipped: 1,
  },
  {
    name: "Latin-1 header",
    write: (c) =>
      Uint8Array.from(lines(["Zeit [µs];Messwert für Kanal 1", ...c.map((v, i) => `${i * 10};${v}`)]), (ch) =>
        ch.charCodeAt(0),
      ),
    skipped: 1,
    time: true,
  },

  { name: "ADC0 = code", write: (c) => lines(c.map((v) => `ADC0 = ${v}`)) },
  {
    name: "ADC0 = code after boot messages",
    write: (c) => lines([...BOOT, ...c.map((v) => `ADC0 = ${v}`)], "\r\n"),
    skipped: BOOT.length,
    fewest: 12,
  },
  { name: "adc:code", write: (c) => lines(c.map((v) => `adc:${v}`)) },
  {
    name: "raw: code with volts",
    write: (c) => lines(c.map((v) => `raw: ${v}, voltage: ${((v / 4096) * 3.3).toFixed(3)} V`)),
  },
  { name: "code (volts)", write: (c) => lines(c.map((v) => `ADC: ${v} (${((v / 4096) * 3.3).toFixed(3)} V)`)) },
  {
    name: "mV beside code",
    write: (c) => lines(c.map((v) => `Raw: ${v}\tVoltage: ${Math.round((v / 4096) * 3300)}mV`)),
  },
  { name: "label 'ADC value ='", write: (c) => lines(c.map((v) => `ADC value = ${v}`)) },
  { name: "value with unit word", write: (c) => lines(c.map((v) => `reading: ${v} counts`)) },
  { name: "0x behind a key", write: (c) => lines(c.map((v) => `ADC1=0x${v.toString(16)}`)), unsignedBits: 16 },
  {
    name: "bare hexadecimal behind a key",
    write: (c) => lines(c.map((v) => `adc=${HEX(v, 4)}`)),
    unsignedBits: 16,
    fewest: 40,
  },
  {
    name: "bracketed clock",
    write: (c) => lines([...BOOT, ...c.map((v, i) => `[${clock(i)}] ${v}`)]),
    skipped: BOOT.length,
    fewest: 12,
    time: true,
  },
  { name: "terminal clock and arrow", write: (c) => lines(c.map((v, i) => `${clock(i)} -> ${v}`)), time: true },
  { name: "terminal clock, arrow, key", write: (c) => lines(c.map((v, i) => `${clock(i)} -> ADC0: ${v}`)), time: true },
  {
    name: "log level and uptime",
    write: (c) => lines([...BOOT, ...c.map((v, i) => `I (${300 + i * 10}) adc: raw=${v}`)]),
    skipped: BOOT.length,
    fewest: 12,
  },
  {
    name: "kernel stamp",
    write: (c) => lines(c.map((v, i) => `[${(12.5 + i * 0.01).toFixed(6).padStart(12)}] adc0: ${v}`)),
    fewest: 12,
  },
  {
    name: "RTOS log with µs groups",
    write: (c) =>
      lines(
        c.map(
          (v, i) =>
            `[00:00:${String((Math.floor(i / 100) % 40) + 10).padStart(2, "0")}.${String((i % 100) * 10).padStart(3, "0")},${String(i % 1000).padStart(3, "0")}] <inf> adc: ch0 = ${v}`,
        ),
      ),
    fewest: 3,
    time: true,
  },
  {
    name: "syslog line",
    write: (c) => lines(c.map((v, i) => `Jan 17 ${clock(i).slice(0, 8)} gauge logger[412]: adc=${v}`)),
    fewest: 3,
  },
  {
    name: "ANSI colours",
    write: (c) =>
      lines(
        c.map((v) => `\u001b[0;32mADC0 = ${v}\u001b[0m`),
        "\r\n",
      ),
  },
  { name: "ANSI colours around plain codes", write: (c) => lines(c.map((v) => `\u001b[1;33m${v}\u001b[0m`)) },
  { name: "prompt before each code", write: (c) => lines(c.map((v) => `> ${v}`)) },
  { name: "prompt and echo", write: (c) => lines(c.flatMap((v) => ["gauge> read", `${v}`])), skipped: -1, fewest: 4 },
  { name: "NUL bytes at the start", write: (c) => `\0\0\0${lines(c.map((v) => `ADC=${v}`))}` },
  { name: "NUL bytes between", write: (c) => lines(c.map((v, i) => (i % 7 === 3 ? `\0${v}` : `${v}`))) },
  {
    name: "pairs in any order",
    write: (c) => lines(c.map((v, i) => (i % 3 === 0 ? `adc0=${v} t=${i * 20}us` : `t=${i * 20}us, adc0=${v}`))),
    fewest: 6,
    time: true,
  },
  {
    name: "two channels, key = value",
    write: (c) => lines(c.map((v) => `ADC0=${v} ADC1=${v >> 1}`)),
    channel: "ADC0",
    others: { ADC1: (v) => v >> 1 },
  },
  {
    name: "channels on lines of their own",
    write: (c) => lines(c.flatMap((v) => [`ADC0: ${v}`, `ADC1: ${v >> 1}`])),
    channel: "ADC0",
    others: { ADC1: (v) => v >> 1 },
  },
  {
    name: "channel numbers in words",
    write: (c) => lines(c.flatMap((v) => [`Channel 0: ${v}`, `Channel 1: ${v >> 1}`])),
    channel: "Channel 0",
    others: { "Channel 1": (v) => v >> 1 },
  },
  {
    name: "channel in brackets",
    write: (c) => lines(c.flatMap((v) => [`ch[0]=${v}`, `ch[1]=${v >> 1}`])),
    channel: "ch[0]",
    others: { "ch[1]": (v) => v >> 1 },
  },
  {
    name: "A0 and A1 with colons",
    write: (c) => lines(c.map((v) => `A0:${v} A1:${v >> 1}`)),
    channel: "A0",
    others: { A1: (v) => v >> 1 },
  },
  {
    name: "channel column",
    write: (c) => lines(["ch,code", ...c.flatMap((v) => [`0,${v}`, `1,${v >> 1}`])]),
    channel: "ch 0",
    others: { "ch 1": (v) => v >> 1 },
    skipped: 1,
  },
  {
    name: "channel column of names",
    write: (c) => lines(["channel;code", ...c.flatMap((v) => [`adc0;${v}`, `adc1;${v >> 1}`])]),
    channel: "adc0",
    others: { adc1: (v) => v >> 1 },
    skipped: 1,
    fewest: 4,
  },
  {
    name: "checksum sentence",
    write: (c) => lines(c.map((v, i) => `$ADC,${i},${v}*${HEX((i * 37) & 255, 2)}`)),
    fewest: 20,
  },
  { name: "eight codes a line", byCourse: true, write: (c) => lines(chunks(c, 8).map((r) => r.join(" "))), fewest: 40 },
  {
    name: "sixteen codes a line, commas",
    byCourse: true,
    write: (c) => lines(chunks(c, 16).map((r) => `${r.join(", ")},`)),
    fewest: 64,
  },
  {
    name: "C array",
    write: (c) => lines(["const int32_t samples[] = {", ...chunks(c, 10).map((r) => `  ${r.join(", ")},`), "};"]),
    skipped: 2,
    fewest: 40,
  },
  { name: "list in brackets, one line", write: (c) => `[${c.join(", ")}]\n`, fewest: 10 },
  {
    name: "codes behind a word, several a line",
    byCourse: true,
    write: (c) => lines(chunks(c, 8).map((r) => `DATA: ${r.join(" ")}`)),
    fewest: 40,
  },
  { name: "array of a debugger", write: (c) => `$1 = {${c.join(", ")}}\n`, fewest: 10 },

  { name: "JSON lines", write: (c) => lines(c.map((v, i) => `{"adc":${v},"t":${123 + i * 20}}`)) },
  {
    name: "JSON lines, time in µs",
    write: (c) => lines(c.map((v, i) => `{"t_us": ${i * 20}, "adc0": ${v}}`)),
    time: true,
  },
  {
    name: "JSON lines after boot messages",
    write: (c) => lines([...BOOT, ...c.map((v) => `{"adc":${v}}`)]),
    skipped: BOOT.length,
    fewest: 12,
  },
  { name: "JSON back to back", write: (c) => c.map((v) => `{"adc":${v}}`).join("") },
  {
    name: "JSON, pretty-printed array",
    write: (c) =>
      JSON.stringify(
        c.map((adc, i) => ({ t_ms: i, adc })),
        null,
        2,
      ),
    skipped: -1,
    time: true,
  },
  {
    name: "JSON packets of codes",
    write: (c) =>
      chunks(c, 10)
        .map((samples, seq) => JSON.stringify({ seq, samples }))
        .join("\n"),
    fewest: 20,
  },
  {
    name: "JSON packets of hexadecimal words",
    write: (c) =>
      chunks(c, 10)
        .map((d) => JSON.stringify({ id: "gauge-2", DS: d.map((v) => (v >>> 0).toString(16).toUpperCase()) }))
        .join(""),
    fewest: 60,
  },
  { name: "JSON nested", write: (c) => lines(c.map((v, i) => JSON.stringify({ ts: { ms: i }, adc: { ch0: v } }))) },
  { name: "JSON behind a clock", write: (c) => lines(c.map((v, i) => `${clock(i)} -> {"adc":${v}}`)) },
  { name: "whole JSON document", write: (c) => JSON.stringify({ board: "A-07", rate: 1000, data: c }) },

  {
    name: "memory dump, 16-bit words",
    write: (c) =>
      lines(chunks(c, 8).map((r, i) => `${HEX(0x20000000 + i * 16, 8)}: ${r.map((v) => HEX(v, 4)).join(" ")}`)),
    unsignedBits: 16,
    fewest: 32,
  },
  {
    name: "memory dump of a debugger, symbol",
    write: (c) =>
      lines(
        chunks(c, 8).map(
          (r, i) =>
            `0x${hex(0x20000100 + i * 16, 8)} <adc_buffer+${i * 16}>:\t${r.map((v) => `0x${hex(v, 4)}`).join("\t")}`,
        ),
      ),
    unsignedBits: 16,
    fewest: 32,
  },
  {
    name: "memory dump of bytes, little-endian, characters",
    write: (c) =>
      lines(
        chunks(c, 8).map(
          (r, i) =>
            `${hex(i * 16, 8)}  ${r.map((v) => `${hex(v & 255, 2)} ${hex(v >> 8, 2)}`).join(" ")}  |................|`,
        ),
      ),
    unsignedBits: 12,
    fewest: 64,
  },
  {
    name: "memory dump, 32-bit words",
    write: (c) => lines(chunks(c, 4).map((r, i) => `${hex(0x2000 + i * 16, 8)}: ${r.map((v) => hex(v, 8)).join(" ")}`)),
    fewest: 16,
  },
  {
    name: "byte pairs in hexadecimal",
    write: (c) => lines(c.map((v) => `${HEX(v >> 8, 2)} ${HEX(v & 255, 2)}`)),
    unsignedBits: 12,
    fewest: 64,
  },
  {
    name: "byte pairs with names",
    write: (c) => lines(["MSB,LSB", ...c.map((v) => `${v >> 8},${v & 255}`)]),
    unsignedBits: 16,
    skipped: 1,
  },

  {
    name: "byte pairs in decimal, low byte first",
    write: (c) => lines(c.map((v) => `${v & 255},${v >> 8}`)),
    unsignedBits: 12,
    fewest: 333,
    // A high byte that hardly moves, or does not, looks like a column of its own.
    not: ["8 bit", "slow ramp"],
  },
  {
    name: "byte pairs with 0x",
    write: (c) => lines(c.map((v) => `0x${HEX(v >> 8, 2)} 0x${HEX(v & 255, 2)}`)),
    unsignedBits: 12,
    fewest: 333,
  },
  {
    name: "eight byte pairs a line, low byte first",
    write: (c) => lines(chunks(c, 8).map((r) => r.map((v) => `${HEX(v & 255, 2)} ${HEX(v >> 8, 2)}`).join(" "))),
    unsignedBits: 12,
    fewest: 333,
  },
  {
    name: "byte pairs behind a word",
    write: (c) => lines(c.map((v) => `rx: ${HEX(v >> 8, 2)} ${HEX(v & 255, 2)}`)),
    unsignedBits: 12,
    fewest: 333,
  },
  {
    name: "high and low byte in named columns beside time",
    write: (c) => lines(["t_us,adch,adcl", ...c.map((v, i) => `${i * 20},${v >> 8},${v & 255}`)]),
    unsignedBits: 16,
    skipped: 1,
    time: true,
  },
  {
    name: "thousands by comma in a table of tabs",
    write: (c) => lines(["n\tcode", ...c.map((v, i) => `${i}\t${group(v, ",")}`)]),
    skipped: 1,
  },
  { name: "thousands by underscore", write: (c) => lines(c.map((v) => group(v, "_"))) },
  { name: "prompt of a command", write: (c) => lines(c.map((v) => `adc> ${v}`)) },
  {
    name: "echo and answer",
    write: (c) => lines(c.flatMap((v) => ["> adc read 0", `ok ${v}`])),
    skipped: -1,
    fewest: 4,
  },
  {
    name: "log levels that differ",
    write: (c) => lines(c.map((v, i) => `[${["INFO", "DEBUG", "WARN"][i % 3]}] adc=${v}`)),
  },
  {
    name: "kernel priority and stamp",
    write: (c) => lines(c.map((v, i) => `<6>[ ${(12.345 + i * 0.001).toFixed(6)}] adc: ${v}`)),
    fewest: 12,
    time: true,
  },
  { name: "process number in brackets", write: (c) => lines(c.map((v, i) => `D/adc (${100 + i}): ${v}`)), fewest: 12 },
  {
    name: "date, time with comma, level, word",
    write: (c) => lines(c.map((v, i) => `2024-05-01 12:00:${String(i % 60).padStart(2, "0")},123 INFO adc ${v}`)),
    time: true,
  },
  { name: "level, module, code", write: (c) => lines(c.map((v) => `INFO:root:${v}`)) },
  {
    name: "names and codes by commas",
    write: (c) => lines(c.map((v) => `adc0,${v},adc1,${v >> 1}`)),
    channel: "adc0",
    others: { adc1: (v) => v >> 1 },
    fewest: 8,
  },
  {
    name: "single-letter keys by semicolons",
    write: (c) => lines(c.map((v, i) => `T=${i * 10};A=${v};B=${v >> 1}`)),
    channel: "A",
    others: { B: (v) => v >> 1 },
    fewest: 8,
  },
  { name: "object that is no JSON", write: (c) => lines(c.map((v) => `{adc:${v}}`)) },
  { name: "remark behind each code", write: (c) => lines(c.map((v) => `${v} # ok`)) },
  { name: "unit behind each code", write: (c) => lines(c.map((v) => `${v} LSB`)) },
  {
    name: "number, time, value",
    write: (c) => lines(["No.,Time(s),Value", ...c.map((v, i) => `${i + 1},${(i * 0.01).toFixed(2)},${v}`)]),
    skipped: 1,
    time: true,
  },
  {
    name: "16-bit ticks without a header",
    write: (c) => lines(c.map((v, i) => `${(i * 1000) % 65_536},${v}`)),
    fewest: 333,
  },
  {
    name: "seconds without a header",
    write: (c) => lines(c.map((v, i) => `${(i * 0.0001).toFixed(4)}\t${v}`)),
    fewest: 12,
    time: true,
  },
  {
    name: "code, volts, temperature",
    write: (c) => lines(["code;volt;temp", ...c.map((v) => `${v};${(v / 1241).toFixed(3)};25.1`)]),
    skipped: 1,
  },
  { name: "line cleared before each code", write: (c) => lines(c.map((v) => `\u001b[2K\rADC: ${v}`)), skipped: -1 },
  { name: "one line written over itself", write: (c) => `\r${c.map((v) => `ADC: ${v}`).join("\r")}`, skipped: -1 },
  { name: "NUL behind each code", write: (c) => lines(c.map((v) => `${v}\0`)) },
  {
    name: "keys padded into columns",
    write: (c) => lines(c.map((v) => `ADC0 = ${String(v).padStart(6)}  | ADC1 = ${String(v >> 1).padStart(6)}`)),
    channel: "ADC0",
    others: { ADC1: (v) => v >> 1 },
  },
  { name: "bar behind each code", write: (c) => lines(c.map((v) => `${v} ${"*".repeat(1 + ((v >> 8) & 15))}`)) },
  {
    name: "decimal and hexadecimal side by side",
    write: (c) => lines(c.map((v) => `ADC: ${v} (0x${HEX(v, 4)})`)),
    unsignedBits: 16,
  },
  { name: "hexadecimal in brackets", write: (c) => lines(c.map((v) => `read [0x${HEX(v, 4)}]`)), unsignedBits: 16 },
  { name: "index in brackets", write: (c) => lines(c.map((v, i) => `buf[${i}] = ${v}`)), fewest: 12 },
  {
    name: "index and colon",
    write: (c) => lines(c.map((v, i) => `${String(i).padStart(4)}: ${String(v).padStart(7)}`)),
    fewest: 12,
  },
  { name: "numbered samples", write: (c) => lines(c.map((v, i) => `Sample ${i}: ${v}`)), fewest: 12 },
  {
    name: "memory dump, short addresses",
    write: (c) => lines(chunks(c, 8).map((r, i) => `${HEX(i * 16, 4)}: ${r.map((v) => HEX(v, 4)).join(" ")}`)),
    unsignedBits: 16,
    fewest: 32,
  },
  {
    name: "memory dump, address =",
    write: (c) =>
      lines(chunks(c, 8).map((r, i) => `${HEX(0x20000000 + i * 16, 8)} = ${r.map((v) => HEX(v, 4)).join(" ")}`)),
    unsignedBits: 16,
    fewest: 40,
  },
  {
    name: "memory dump in decimal",
    write: (c) => lines(chunks(c, 4).map((r, i) => `0x${hex(0x20000000 + i * 16, 8)}:\t${r.join("\t")}`)),
    fewest: 16,
  },
  { name: "JSON with numbers in quotes", write: (c) => lines(c.map((v) => `{"adc":"${v}"}`)) },
  {
    name: "JSON with hexadecimal in quotes",
    write: (c) => lines(c.map((v) => `{"adc":"0x${HEX(v, 4)}"}`)),
    unsignedBits: 16,
  },
  {
    name: "JSON with a channel's name",
    write: (c) => lines(c.flatMap((v) => [`{"ch":"A0","v":${v}}`, `{"ch":"A1","v":${v >> 1}}`])),
    channel: "A0",
    others: { A1: (v) => v >> 1 },
    fewest: 4,
  },
  {
    name: "JSON with a list of channels",
    byCourse: true,
    write: (c) => lines(c.map((v, i) => `{"i":${i},"ch":[${v},${5 + (i % 3)}]}`)),
    channel: "ch[0]",
    others: { "ch[1]": (_, n) => 5 + (n % 3) },
    fewest: 40,
  },
  {
    name: "two channels in bare hexadecimal behind keys",
    write: (c) => lines(c.map((v) => `A=${HEX(v, 4)} B=${HEX(v >> 4, 4)}`)),
    channel: "A",
    others: { B: (v) => v >> 4 },
    unsignedBits: 16,
    fewest: 333,
  },
  { name: "pairs in parentheses", write: (c) => lines(c.map((v, i) => `(${i * 10}, ${v})`)), fewest: 12 },
  {
    name: "a line that reads and a line that converts",
    write: (c) =>
      lines(
        c.flatMap((v, i) => [
          `I (${i * 10 + 300}) EX: ADC1 Channel[2] Raw Data: ${v}`,
          `I (${i * 10 + 300}) EX: ADC1 Channel[2] Cali Voltage: ${Math.round(v * 0.8)} mV`,
        ]),
      ),
    skipped: -1,
    fewest: 12,
  },
  {
    name: "interpreter's prompt before and after",
    write: (c) => `>>> adc.read()\n${c.map((v) => `${v}\n>>> adc.read()\n`).join("")}`,
    skipped: -1,
    fewest: 4,
  },
  {
    name: "two columns of floats with exponents",
    write: (c) => lines(c.map((v, i) => `   ${(i * 0.001).toExponential(7)}   ${v.toExponential(9)}`)),
    fewest: 12,
    time: true,
  },
];
