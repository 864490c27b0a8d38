/** One finger pans, two fingers zoom; up and down still scroll the page. */
export function listenToTouch(
  holder: HTMLElement,
  plot: { width(): number; pan(share: number): void; zoom(factor: number): void },
): void {
  const down = new Map<number, number>();
  const spread = (): number => {
    const xs = [...down.values()];
    return xs.length < 2 ? 0 : Math.abs(xs[0]! - xs[1]!);
  };
  holder.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "touch") down.set(event.pointerId, event.clientX);
  });
  holder.addEventListener("pointermove", (event) => {
    const before = down.get(event.pointerId);
    if (event.pointerType !== "touch" || before === undefined) return;
    const wide = spread();
    down.set(event.pointerId, event.clientX);
    if (down.size === 1) plot.pan((before - event.clientX) / plot.width());
    else if (wide > 0 && spread() > 0) plot.zoom(wide / spread());
  });
  for (const end of ["pointerup", "pointercancel"] as const)
    holder.addEventListener(end, (event) => down.delete(event.pointerId));
}
