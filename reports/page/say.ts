/** Tells a screen reader, and no one else, what just happened. */
export function say(sentence: string): void {
  const spoken = document.getElementById("spoken");
  if (spoken) spoken.textContent = sentence;
}

/** A small button with a spoken name where the visible one is only a sign. */
export function button(label: string, spokenName: string | null, act: () => void): HTMLButtonElement {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = label;
  if (spokenName !== null) {
    made.setAttribute("aria-label", spokenName);
    made.title = spokenName;
  }
  made.addEventListener("click", act);
  return made;
}
