import type { View } from "../figureScale.ts";
import type { FigureSpec } from "../figureSpec.ts";
import { figureSvg } from "../figureSvg.ts";

const SIZE = { width: 960, height: 440 };

/** The figure as it is seen now, as an SVG file with title, axes, key and caption. */
export function saveSvg(spec: FigureSpec, view: View): void {
  download(new Blob([drawing(spec, view)], { type: "image/svg+xml" }), `${spec.id}.svg`);
}

/** The same as a PNG, at twice the size, for a write-up. */
export async function savePng(spec: FigureSpec, view: View): Promise<void> {
  const image = new Image();
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(drawing(spec, view))}`;
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = image.width * 2;
  canvas.height = image.height * 2;
  const context = canvas.getContext("2d");
  if (!context) return;
  context.drawImage(image, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise<Blob | null>((made) => canvas.toBlob(made, "image/png"));
  if (blob) download(blob, `${spec.id}.png`);
}

function drawing(spec: FigureSpec, view: View): string {
  // A figure that leaves the page takes the mark with it.
  const title = document.body.dataset.simulated ? `${spec.title} (simulated data)` : spec.title;
  return figureSvg({ ...spec, title }, { ...SIZE, view, standalone: true });
}

function download(blob: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
