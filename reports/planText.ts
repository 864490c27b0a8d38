import type { LimitPlan } from "../lib/plan/limitPlan.ts";
import { percent } from "../lib/plan/percent.ts";
import type { Plan } from "../lib/plan/plan.ts";
import type { CapturePlan, TonePlan } from "../lib/plan/planCapture.ts";
import type { SettingPlan } from "../lib/plan/planSettings.ts";
import { counted, plain, quantity } from "./number.ts";

/** Width of the labels' column. */
const LABEL = 16;

/** A plan as one aligned text for a terminal; no line passes `columns` unless a single word does. */
export function renderPlanText(plan: Plan, columns = 80): string {
  const width = Math.max(48, Math.min(columns, 100));
  const lines: string[] = [`${plan.title}: plan`, ""];
  const row = (label: string, text: string): void => {
    lines.push(...wrapped(text, width, `  ${label.padEnd(LABEL)}`));
  };
  for (const setting of plan.settings) {
    lines.push(heading("Timing and input", plan.settings.length > 1 ? setting.captures.join(", ") : ""));
    settingRows(setting, row);
    lines.push("");
  }
  for (const capture of plan.captures) {
    lines.push(heading(`Capture ${capture.name}`, capture.kind ?? "no stimulus"));
    captureRows(capture, row);
    lines.push("");
  }
  if (plan.limits.length > 0) {
    lines.push(heading("What the limits take", ""));
    lines.push(...limitTable(plan, width), "");
  }
  const groups = [
    ["trouble", "Will not work as set"],
    ["undecidable", "Cannot be decided with this bench"],
    ["caution", "To watch"],
    ["missing", "What the bench file does not say"],
  ] as const;
  for (const [severity, title] of groups) {
    const remarks = plan.remarks.filter((remark) => remark.severity === severity);
    if (remarks.length === 0) continue;
    lines.push(title);
    for (const { captures, text } of remarks) {
      const where = captures.length === 0 || captures.length === plan.captures.length ? "" : `${captures.join(", ")}: `;
      lines.push(...wrapped(`${where}${text}.`, width, "  - "));
    }
    lines.push("");
  }
  lines.push("Low voltage only. Connect ground before signal; a front end on the mains needs");
  lines.push("isolation and a qualified person.");
  return `${lines.map((line) => line.trimEnd()).join("\n")}\n`;
}

type AddRow = (label: string, text: string) => void;

function heading(title: string, of: string): string {
  return of === "" ? title : `${title} (${of})`;
}

function settingRows({ rate, settling, capacitorNoise, serial }: SettingPlan, row: AddRow): void {
  if (rate === null) row("rate", "not known");
  else {
    if (rate.conversion !== null)
      row(
        "reading",
        `${quantity(rate.conversion, "s")} by the timing bits, ${quantity(rate.fastest ?? 0, "Hz", 6)} at most`,
      );
    const basis = rate.basis === "stated" ? "as stated" : "by the timing bits";
    row("rate", [`${quantity(rate.rate, "Hz", 6)} ${basis}`, ...rate.remarks].join("; "));
  }
  if (settling !== null)
    row(
      "settling",
      `${settling.settles ? "settles" : "DOES NOT SETTLE"}: to ½ LSB in ${quantity(settling.needed, "s", 3)} of ${quantity(settling.available, "s", 3)}; at least ${settling.fewestCycles} sampling clocks${rate?.mostSampleCycles ? ` (the rate leaves room for ${rate.mostSampleCycles})` : ""}, or at most ${quantity(Math.max(0, settling.mostSourceResistance), "Ω", 3)} of source`,
    );
  if (capacitorNoise !== null)
    row(
      "kT/C noise",
      `${quantity(capacitorNoise.volts, "V", 3)} rms, ${plain(capacitorNoise.lsb, 2)} LSB, at 25 °C; leaves at most ${plain(capacitorNoise.bits, 4)} bit`,
    );
  if (serial !== null)
    row(
      "serial line",
      `${serial.keepsUp ? "keeps up" : "TOO SLOW"}: carries ${counted(serial.carries)} readings/s at ${serial.bytesPerLine} bytes${serial.isAssumed ? " (assumed)" : ""} a reading, ${plain(100 * serial.load, 3)} % of it used`,
    );
}

function captureRows(
  { readings, readingsBasis, duration, sending, tone, overdrive, jitter, pin }: CapturePlan,
  row: AddRow,
): void {
  const length = readings === null ? "" : `${counted(readings)}${duration === null ? "" : `, ${timeText(duration)}`}; `;
  row("readings", `${length}${readingsBasis}`);
  if (sending !== null) row("", `sent over the serial line in ${timeText(sending)}`);
  if (tone !== null) toneRows(tone, row, overdrive === null);
  if (overdrive !== null)
    row(
      "overdrive",
      `${plain(overdrive.overdrive, 3)} LSB past both ends for ${plain(overdrive.noise, 2)} LSB of noise: ${quantity(overdrive.amplitude, "V")} about ${quantity(overdrive.offset, "V")} at the source`,
    );
  if (jitter !== null) {
    const stated =
      jitter.stated === null
        ? ""
        : `; the stated ${quantity(jitter.stated.jitter, "s", 3)} leave ${plain(jitter.stated.bits, 4)} bit`;
    row(
      "jitter",
      `at most ${quantity(jitter.allowed, "s", 3)} rms for ${plain(jitter.wantedBits, 4)} bit at ${quantity(jitter.frequency, "Hz", 6)} (by ${jitter.basis})${stated}`,
    );
  }
  if (pin !== null)
    row(
      "pin",
      `${pin.low === pin.high ? quantity(pin.low, "V") : `${quantity(pin.low, "V")} to ${quantity(pin.high, "V")}`}, at worst ${quantity(pin.worstLow, "V")} to ${quantity(pin.worstHigh, "V")}; survives ${quantity(pin.pinLow, "V")} to ${quantity(pin.pinHigh, "V")}${pin.isStated ? "" : " (assumed)"}`,
    );
}

function toneRows(tone: TonePlan, row: AddRow, withHarmonics: boolean): void {
  const { cycles, readings, frequency, coherent, residualCycles, step } = tone;
  const prime = tone.isPrime ? ", a prime number," : "";
  row(
    "frequency",
    `set ${plain(frequency, 12)} Hz: ${counted(cycles)} cycles${prime} in ${counted(readings)} readings, ${counted(tone.distinctPhases)} phases`,
  );
  const off =
    residualCycles === 0
      ? "exactly coherent"
      : `coherent would be ${plain(coherent, 12)} Hz; off by ${plain(Math.abs(residualCycles), 2)} cycle`;
  const settable = step === null ? "no generator step stated" : `steps of ${quantity(step, "Hz")}`;
  row(
    "",
    `${off} (${settable})${tone.driftCycles === 0 ? "" : `; source limit ± ${plain(tone.driftCycles, 2)} cycle`}`,
  );
  const places = tone.harmonics.map(
    ({ order, frequency: at, state }) => `${order} at ${quantity(at, "Hz", 5)}${state === "kept" ? "" : " (hidden)"}`,
  );
  if (withHarmonics) row("harmonics", places.join(", "));
}

function limitTable(plan: Plan, width: number): string[] {
  const cells = plan.limits.map((limit) => [
    limit.metric,
    `${limit.bound === "min" ? "≥" : "≤"} ${plain(limit.limit)} ${limit.unit}`,
    limit.tolerance === null ? "" : plain(limit.tolerance, 2),
    limit.readings === null ? "" : counted(limit.readings),
    limit.time === null ? "" : timeText(limit.time),
    limit.capture ?? "none",
  ]);
  const heads = ["metric", "limit", "±", "readings", "time", "capture"];
  const widths = heads.map((head, i) => Math.max(head.length, ...cells.map((row) => row[i]!.length)));
  const line = (row: readonly string[]): string =>
    `  ${row.map((cell, i) => (i >= 2 && i <= 4 ? cell.padStart(widths[i]!) : cell.padEnd(widths[i]!))).join("  ")}`;
  const lines = [line(heads)];
  plan.limits.forEach((limit, i) => {
    lines.push(line(cells[i]!), ...wrapped(noteOf(limit), width, "      "));
  });
  lines.push(
    ...wrapped(
      `± is what the readings aim at, at ${percent(plan.confidence)} for one figure; noise ${plain(plan.noise.lsb, 3)} LSB (${plan.noise.basis}).${plan.limits.some(({ metric }) => OVER_CODES.test(metric)) ? ` The largest of all codes strays further than one: --confidence "${percent(plan.confidenceForAllCodes)}" plans for all at once.` : ""}`,
      width,
      "  ",
    ),
  );
  return lines;
}

/** Limits on the worst of all codes. */
const OVER_CODES = /^(inl|dnl|missingCodes|totalUnadjustedError)/;

function noteOf({ method, source }: LimitPlan): string {
  // What the source spoils stands among the remarks below, in full.
  return source?.shows === "yes" ? `${method}; ${source.text}` : method;
}

function timeText(seconds: number): string {
  if (seconds >= 5400) return `${plain(seconds / 3600, 3)} h`;
  if (seconds >= 120) return `${plain(seconds / 60, 3)} min`;
  return quantity(seconds, "s", 3);
}

/** Words put on lines of at most `width` characters; the first line starts with `label`, the others with as many spaces. */
export function wrapped(text: string, width: number, label: string): string[] {
  const indent = " ".repeat(label.length);
  const lines: string[] = [];
  let line = label;
  let isEmpty = true;
  for (const word of unbroken(text).split(" ")) {
    if (!isEmpty && line.length + 1 + word.length > width) {
      lines.push(line);
      line = indent;
      isEmpty = true;
    }
    line += isEmpty ? word : ` ${word}`;
    isEmpty = false;
  }
  lines.push(line);
  return lines;
}

/** Numbers stay together, and with their unit. */
function unbroken(text: string): string {
  return text
    .replace(/(?<=\d) (?=\d{3}(?!\d))/g, "\u202f")
    .replace(/(?<=\d) (?=(LSB|dBc?|bit|%|Bd|[pnµmkMG]?(V|Hz|s|Ω|F))(?![A-Za-z]))/g, "\u00a0")
    .replace(/± (?=\d)/g, "±\u00a0");
}
