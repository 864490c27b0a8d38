/** A turn of the event loop: what is read or written by synchronous calls would keep Ctrl-C waiting. */
export function letSignalsIn(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve));
}
