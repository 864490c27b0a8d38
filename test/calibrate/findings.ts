import { matchRecord } from "../../lib/match/matchRecord.ts";
import { clopperPearson } from "../../lib/signal/distributions.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { simulated } from "../match/simulatedRecord.ts";
import { cleanCapture } from "./cleanCaptures.ts";
import { detectionRate, FAULT_CASES } from "./faultCases.ts";

/**
 * False-alarm rate of the findings over clean captures of every kind, and detection rate against fault size.
 * Run: npx tsx test/calibrate/findings.ts [clean captures, 1000] [captures a fault size, 40] [seed, 1]
 */
const [captures = 1000, each = 40, seed = 1] = process.argv.slice(2).map(Number);

const random = seededRandom(seed);
const alarms = new Map<string, string[]>();
let alarmed = 0;
for (let i = 0; i < captures; i++) {
  const clean = cleanCapture(random);
  const { record } = simulated(clean.spec, clean.faults, {
    readings: clean.readings,
    seed: seed * 100_003 + i,
    converterSeed: i + 1,
    time: clean.time,
    resolution: clean.resolution,
  });
  const warned = matchRecord(record).findings.filter((f) => f.severity !== "note");
  if (warned.length > 0) alarmed++;
  for (const finding of warned)
    alarms.set(finding.id, [...(alarms.get(finding.id) ?? []), `#${i} ${clean.what}: ${finding.text}`]);
}
const [, upper] = clopperPearson(alarmed, captures);
console.log(
  `Clean captures: ${alarmed} of ${captures} raised a warning or an error (at most ${(100 * upper).toFixed(2)} % at 97.5 % confidence).`,
);
for (const [id, seen] of alarms) {
  console.log(`  ${id}: ${seen.length}`);
  for (const line of seen.slice(0, 4)) console.log(`    ${line.slice(0, 330)}`);
}

console.log(
  `\nDetection rate against fault size, ${each} captures each (random place, phase and converter; 12 bit, 8192 readings unless said)`,
);
for (const fault of each > 0 ? FAULT_CASES : []) {
  const cells = fault.sizes.map((size) => {
    const rate = detectionRate(fault, size, each, seed);
    return `${size}: ${(100 * rate).toFixed(0)} %`;
  });
  console.log(`  ${fault.finding.padEnd(22)} ${fault.name.padEnd(44)} ${cells.join("   ")}`);
}
