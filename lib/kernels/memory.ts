/** Frees everything that the call before has allocated, its arguments and its result among them. */
export function release(): void {
  heap.reset();
}
