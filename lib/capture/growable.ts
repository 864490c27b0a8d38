/** Much at a time: memory that is never written to costs nothing, but old and new list stand side by side while one is copied. */
const GROWTH = 4;

/** A list of 32-bit words that grows; its capacity is guessed so that a long log is not copied while it is read. */
export class WordList {
  words: Int32Array;
  length = 0;
  constructor(capacity: number) {
    this.words = new Int32Array(Math.max(capacity, 16));
  }
  push(word: number): void {
    if (this.length === this.words.length) this.reserve(1);
    this.words[this.length++] = word;
  }
  /** Makes room for `more` words beyond `length`. */
  reserve(more: number): void {
    if (this.length + more <= this.words.length) return;
    const larger = new Int32Array(Math.max(GROWTH * this.words.length, this.length + more));
    larger.set(this.words.subarray(0, this.length));
    this.words = larger;
  }
  done(): Int32Array {
    return this.words.subarray(0, this.length);
  }
}

/** The same for real numbers. */
export class RealList {
  values: Float64Array;
  length = 0;
  constructor(capacity: number) {
    this.values = new Float64Array(Math.max(capacity, 16));
  }
  push(value: number): void {
    if (this.length === this.values.length) this.reserve(1);
    this.values[this.length++] = value;
  }
  reserve(more: number): void {
    if (this.length + more <= this.values.length) return;
    const larger = new Float64Array(Math.max(GROWTH * this.values.length, this.length + more));
    larger.set(this.values.subarray(0, this.length));
    this.values = larger;
  }
  done(): Float64Array {
    return this.values.subarray(0, this.length);
  }
}
