/** Running least-squares line; the share of y's power that it leaves. */
export class RunningLine {
  private n = 0;
  private mx = 0;
  private my = 0;
  private sxx = 0;
  private sxy = 0;
  private syy = 0;
  add(x: number, y: number): void {
    this.n++;
    const dx = x - this.mx;
    const dy = y - this.my;
    this.mx += dx / this.n;
    this.my += dy / this.n;
    this.sxx += dx * (x - this.mx);
    this.sxy += dx * (y - this.my);
    this.syy += dy * (y - this.my);
  }
  unexplained(): number {
    if (this.n < 32 || !(this.sxx > 0) || !(this.syy > 0)) return 1;
    return Math.max(0, 1 - (this.sxy * this.sxy) / (this.sxx * this.syy));
  }
}
