/** Puts text on the clipboard; where the browser withholds the clipboard from a local file, by way of a selected text box. */
export async function copyText(text: string): Promise<boolean> {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const box = document.createElement("textarea");
    box.value = text;
    box.className = "spoken";
    document.body.append(box);
    box.select();
    const copied = document.execCommand("copy");
    box.remove();
    return copied;
  }
}
