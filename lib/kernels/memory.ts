/** Frees everything that a call has allocated, its arguments and its result among them. */
export function release(): void {
  heap.reset();
}
