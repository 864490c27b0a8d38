import { noiseCorrelation } from "./noiseCorrelation";
import { normals, uniform, uniforms } from "./random";
import { Transitions } from "./staticLineErrors";

/**
 * Draws of the errors of all transitions: noise as a chain whose neighbours are correlated as theory says, gaps uniform.
 * Deviates come from a pool that is walked from a random place in random odd steps, because a bootstrap needs hundreds of thousands of them.
 */
export class ErrorDraws {
  private noise: Float64Array;
  private gap: Float64Array;
  private rho: Float64Array;
  private fresh: Float64Array;
  private size: i32;
  private normals: Float64Array;
  /** None where there are no gaps. */
  private uniforms: Float64Array;

  /** @param widths  code widths for the correlation of neighbours */
  constructor(tr: Transitions, widths: Float64Array) {
    const count = tr.inputs.length;
    const size = count > 1 << 13 ? 1 << 17 : 1 << 14;
    let gaps = false;
    for (let i = 0; i < count && !gaps; i++) gaps = tr.gap[i] > 0;
    this.noise = tr.noise;
    this.gap = tr.gap;
    this.size = size;
    this.normals = normals(size);
    this.uniforms = uniforms(gaps ? size : 0);
    const rho = new Float64Array(count);
    const fresh = new Float64Array(count);
    for (let i = 0; i < count; i++) {
      if (i > 0) rho[i] = noiseCorrelation(widths[i - 1], tr.sigma);
      fresh[i] = sqrt<f64>(1 - rho[i] * rho[i]);
    }
    this.rho = rho;
    this.fresh = fresh;
  }

  /** Fills `errors`, as long as the transitions, with one draw. */
  draw(errors: Float64Array): void {
    const noise = this.noise;
    const gap = this.gap;
    const rho = this.rho;
    const fresh = this.fresh;
    const normals = this.normals;
    const uniforms = this.uniforms;
    const size = this.size;
    const count = errors.length;
    const mask = size - 1;
    // A power of two, so that what the mask leaves lies in the pools.
    if ((size & mask) !== 0 || normals.length < size || (uniforms.length < size && uniforms.length > 0)) unreachable();
    if (noise.length < count || gap.length < count || rho.length < count || fresh.length < count) unreachable();
    let at = <i32>(uniform() * size);
    const step = 2 * <i32>((uniform() * size) / 2) + 1;
    let e: f64 = 0;
    for (let i = 0; i < count; i++) {
      at = (at + step) & mask;
      e = unchecked(rho[i]) * e + unchecked(fresh[i]) * unchecked(normals[at]);
      unchecked((errors[i] = unchecked(noise[i]) * e));
    }
    if (uniforms.length === 0) return;
    for (let i = 0; i < count; i++) {
      at = (at + step) & mask;
      unchecked((errors[i] += unchecked(gap[i]) * (2 * unchecked(uniforms[at]) - 1)));
    }
  }
}

/** So many draws, one after the other. */
export function errorDraws(tr: Transitions, widths: Float64Array, draws: i32): Float64Array {
  const count = tr.inputs.length;
  const errors = new ErrorDraws(tr, widths);
  const all = new Float64Array(draws * count);
  for (let d = 0; d < draws; d++) errors.draw(all.subarray(d * count, (d + 1) * count));
  return all;
}
