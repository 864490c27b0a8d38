import type { SineFit } from "../signal/sineFit.ts";

/**
 * How well a triangle and a repeated ramp of the sine's frequency explain the readings.
 * @returns for each, the share of the spread (rms) left unexplained, and its amplitude (half of peak to peak)
 */
export function shapeFit(
  xs: ArrayLike<number>,
  sine: SineFit,
): { triangle: number; triangleAmplitude: number; ramp: number; rampAmplitude: number } {
  const triangle = explained(xs, sine, (theta) => (2 / Math.PI) * Math.asin(Math.cos(theta)));
  // A rising ramp's fundamental is −sin, a falling one's +sin of its own turn: a quarter of a cycle behind or ahead of cos θ.
  const saw = (ahead: number) =>
    explained(xs, sine, (theta) => {
      const turn = theta / (2 * Math.PI) + ahead;
      return 2 * (turn - Math.floor(turn)) - 1;
    });
  const rising = saw(-0.25);
  const falling = saw(0.25);
  const ramp = rising.left < falling.left ? rising : falling;
  return {
    triangle: triangle.left,
    triangleAmplitude: triangle.amplitude,
    ramp: ramp.left,
    rampAmplitude: ramp.amplitude,
  };
}

function explained(
  xs: ArrayLike<number>,
  sine: SineFit,
  shape: (theta: number) => number,
): { left: number; amplitude: number } {
  const n = xs.length;
  let sx = 0;
  let sxx = 0;
  let sy = 0;
  let syy = 0;
  let sxy = 0;
  for (let i = 0; i < n; i++) {
    const s = shape(2 * Math.PI * sine.cyclesPerReading * i + sine.phase);
    const y = xs[i]! - sine.offset;
    sx += s;
    sxx += s * s;
    sy += y;
    syy += y * y;
    sxy += s * y;
  }
  const vx = sxx - (sx * sx) / n;
  const vy = syy - (sy * sy) / n;
  const cxy = sxy - (sx * sy) / n;
  if (!(vx > 0 && vy > 0)) return { left: 1, amplitude: 0 };
  return { left: Math.sqrt(Math.max(0, 1 - (cxy * cxy) / (vx * vy))), amplitude: Math.abs(cxy / vx) };
}
