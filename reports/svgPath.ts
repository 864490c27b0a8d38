/**
 * Writes SVG path data on a grid of a tenth of a pixel, in relative steps and without spare characters: about a third of the size of absolute
 * coordinates. Steps are taken between grid points, so that rounding cannot add up along a long curve.
 */
export class SvgPath {
  private text = "";
  private x = 0;
  private y = 0;

  moveTo(x: number, y: number): this {
    const gx = grid(x);
    const gy = grid(y);
    // Absolute: a relative move after a closed figure would count from where that figure began.
    this.text += `M${tenths(gx)}${joined(tenths(gy))}`;
    this.x = gx;
    this.y = gy;
    return this;
  }

  lineTo(x: number, y: number): this {
    const gx = grid(x);
    const gy = grid(y);
    const dx = gx - this.x;
    const dy = gy - this.y;
    if (dx === 0 && dy === 0) return this;
    this.text += dy === 0 ? `h${tenths(dx)}` : dx === 0 ? `v${tenths(dy)}` : `l${tenths(dx)}${joined(tenths(dy))}`;
    this.x = gx;
    this.y = gy;
    return this;
  }

  /** Our own ready-made relative piece, which ends where it began or is followed by a move. */
  append(relative: string): this {
    this.text += relative;
    return this;
  }

  close(): this {
    this.text += "z";
    return this;
  }

  toString(): string {
    return this.text;
  }
}

function grid(v: number): number {
  return Math.round(v * 10);
}

function tenths(n: number): string {
  const size = Math.abs(n);
  const part = size % 10;
  const whole = (size - part) / 10;
  const text = part === 0 ? String(whole) : whole === 0 ? `.${part}` : `${whole}.${part}`;
  return n < 0 ? `-${text}` : text;
}

/** A second number needs a blank before it unless its minus sign parts it from the first. */
function joined(text: string): string {
  return text.startsWith("-") ? text : ` ${text}`;
}
