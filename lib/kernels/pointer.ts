/** Turns after which cosine and sine are set anew: their rounding stays near 1e-13. */
const ANEW = 1024;

/** Cosine and sine of an angle that turns on by the same step again and again. */
export class Pointer {
  c: f64;
  s: f64;
  private stepC: f64;
  private stepS: f64;
  private turns: i32 = 0;

  /** @param place  steps from zero at which it begins */
  constructor(
    private step: f64,
    private place: f64,
  ) {
    this.c = Math.cos(step * place);
    this.s = Math.sin(step * place);
    this.stepC = Math.cos(step);
    this.stepS = Math.sin(step);
  }

  turn(): void {
    this.place++;
    this.turns++;
    if (this.turns === ANEW) {
      this.turns = 0;
      this.c = Math.cos(this.step * this.place);
      this.s = Math.sin(this.step * this.place);
    } else {
      const turned = this.c * this.stepC - this.s * this.stepS;
      this.s = this.s * this.stepC + this.c * this.stepS;
      this.c = turned;
    }
  }
}
