/** Parts one after the other as one array. */
export function joined<T extends Float64Array | Int32Array>(type: new (length: number) => T, parts: readonly T[]): T {
  if (parts.length === 1) return parts[0]!;
  const all = new type(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}
