/** Loads the page again every few seconds, but never under the hands of a reader: an opened fold or a plot in use holds it back. */
export function reloadWhenIdle(): void {
  let touched = 0;
  for (const event of ["pointermove", "keydown", "scroll"])
    addEventListener(
      event,
      () => {
        touched = Date.now();
      },
      { passive: true },
    );
  setInterval(() => {
    if (document.visibilityState === "visible" && Date.now() - touched > 4000) location.reload();
  }, 3000);
}
