/**
 * Level stretches parted by jumps, as a stepped source leaves them.
 * @returns how many stretches and different levels, and the share of the spread (rms) that they leave unexplained; null when there are no such stretches
 */
export function plateaus(xs: Float64Array): { count: number; levels: number; left: number } | null {
  const n = xs.length;
  const differences = Float64Array.from({ length: n - 1 }, (_, i) => Math.abs(xs[i + 1]! - xs[i]!)).sort();
  // Most neighbours are on the same level: their differences are the noise.
  const noise = differences[Math.floor(0.6 * (n - 1))]!;
  const jump = Math.max(5 * noise, (differences[n - 2]! || 0) * 0.02, 1e-12);
  const starts = [0];
  for (let i = 1; i < n; i++) {
    if (Math.abs(xs[i]! - xs[i - 1]!) <= jump) continue;
    // A reading caught while the level changed belongs to neither.
    if (i - starts[starts.length - 1]! < 3) starts[starts.length - 1] = i;
    else starts.push(i);
  }
  if (starts.length < 2 || starts.length > n / 5) return null;
  const means: number[] = [];
  let within = 0;
  let mean = 0;
  for (let i = 0; i < n; i++) mean += xs[i]! / n;
  let total = 0;
  for (let i = 0; i < n; i++) total += (xs[i]! - mean) ** 2;
  starts.forEach((start, s) => {
    const end = starts[s + 1] ?? n;
    let sum = 0;
    for (let i = start; i < end; i++) sum += xs[i]!;
    const level = sum / (end - start);
    means.push(level);
    for (let i = start; i < end; i++) within += (xs[i]! - level) ** 2;
  });
  const sorted = means.slice().sort((a, b) => a - b);
  let levels = 1;
  for (let i = 1; i < sorted.length; i++) if (sorted[i]! - sorted[i - 1]! > jump) levels++;
  return { count: starts.length, levels, left: Math.sqrt(within / total) };
}
