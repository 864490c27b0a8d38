import { seededRandom } from "../../lib/signal/random.ts";

/** Codes as converters give them, for logs whose content is known. Seeded: the same on every run. */
export const SIGNALS: Readonly<Record<string, (n: number) => number[]>> = {
  sine: (n) => course(n, (i, noise) => 2048 + 1900 * Math.sin(i * 0.217) + noise),
  "fast sine": (n) => course(n, (i, noise) => 2048 + 1500 * Math.sin(i * 2.217) + noise),
  steady: (n) => course(n, (_, noise) => 2047 + 1.5 * noise),
  ramp: (n) => course(n, (i) => 3 + (i * 4080) / n),
  "slow ramp": (n) => course(n, (i) => Math.floor(900 + i / 3)),
  scattered: (n) => {
    const random = seededRandom(5);
    return Array.from({ length: n }, () => Math.floor(random.uniform() * 4096));
  },
  "16 bit": (n) => course(n, (i, noise) => 32768 + 30000 * Math.sin(i * 0.17) + 10 * noise),
  signed: (n) => course(n, (i, noise) => 1500 * Math.sin(i * 0.217) + noise),
  "24 bit signed": (n) => course(n, (i, noise) => 5e6 * Math.sin(i * 0.11) + 500 * noise),
  "8 bit": (n) => course(n, (i, noise) => 128 + 100 * Math.sin(i * 0.217) + noise),
};

function course(n: number, at: (i: number, noise: number) => number): number[] {
  const random = seededRandom(7);
  return Array.from({ length: n }, (_, i) => Math.round(at(i, random.normal())));
}
