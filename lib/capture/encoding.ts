export type Encoding = "utf-8" | "utf-16le" | "utf-16be" | "latin1";

/** The log's character encoding by its byte order mark or by its bytes; and how many bytes the mark takes. */
export function detectEncoding(bytes: Uint8Array): { encoding: Encoding; mark: number } {
  if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) return { encoding: "utf-8", mark: 3 };
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return { encoding: "utf-16le", mark: 2 };
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return { encoding: "utf-16be", mark: 2 };
  // Without a mark: every other byte of plain text in UTF-16 is zero.
  const n = Math.min(bytes.length & ~1, 4096);
  let evenZero = 0;
  let oddZero = 0;
  for (let i = 0; i < n; i += 2) {
    if (bytes[i] === 0) evenZero++;
    if (bytes[i + 1] === 0) oddZero++;
  }
  if (n >= 4 && oddZero > 0.4 * n && evenZero < 0.05 * n) return { encoding: "utf-16le", mark: 0 };
  if (n >= 4 && evenZero > 0.4 * n && oddZero < 0.05 * n) return { encoding: "utf-16be", mark: 0 };
  return { encoding: isUtf8(bytes) ? "utf-8" : "latin1", mark: 0 };
}

function isUtf8(bytes: Uint8Array): boolean {
  // The sample's end may cut a character: up to three bytes are left out there.
  for (let cut = 0; cut <= 3; cut++) {
    try {
      new TextDecoder("utf-8", { fatal: true }).decode(bytes.subarray(0, Math.max(0, bytes.length - cut)));
      return true;
    } catch {
      // Try with one byte less.
    }
  }
  return false;
}

/**
 * Turns UTF-16 into UTF-8 bytes piece by piece, so that everything after works on one kind of bytes. A byte left over between pieces is kept.
 */
export class Utf16ToUtf8 {
  #left: number | null = null;
  #high = 0;
  constructor(readonly littleEndian: boolean) {}

  convert(bytes: Uint8Array): Uint8Array {
    const out = new Uint8Array(bytes.length * 2 + 4);
    let n = 0;
    let i = 0;
    const next = (a: number, b: number): void => {
      let unit = this.littleEndian ? a | (b << 8) : (a << 8) | b;
      if (unit === 0xfeff) return;
      if (unit >= 0xd800 && unit < 0xdc00) {
        this.#high = unit;
        return;
      }
      if (unit >= 0xdc00 && unit < 0xe000) {
        unit = this.#high === 0 ? 0xfffd : 0x10000 + ((this.#high - 0xd800) << 10) + (unit - 0xdc00);
      }
      this.#high = 0;
      if (unit < 0x80) out[n++] = unit;
      else if (unit < 0x800) {
        out[n++] = 0xc0 | (unit >> 6);
        out[n++] = 0x80 | (unit & 63);
      } else if (unit < 0x10000) {
        out[n++] = 0xe0 | (unit >> 12);
        out[n++] = 0x80 | ((unit >> 6) & 63);
        out[n++] = 0x80 | (unit & 63);
      } else {
        out[n++] = 0xf0 | (unit >> 18);
        out[n++] = 0x80 | ((unit >> 12) & 63);
        out[n++] = 0x80 | ((unit >> 6) & 63);
        out[n++] = 0x80 | (unit & 63);
      }
    };
    if (this.#left !== null && bytes.length > 0) {
      next(this.#left, bytes[0]!);
      this.#left = null;
      i = 1;
    }
    for (; i + 1 < bytes.length; i += 2) next(bytes[i]!, bytes[i + 1]!);
    if (i < bytes.length) this.#left = bytes[i]!;
    return out.subarray(0, n);
  }
}

const utf8 = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true });
const latin1 = new TextDecoder("latin1");

/** Bytes of one line as text: UTF-8, or Latin-1 where they are not that. Plain ASCII, the usual case, is put together directly. */
export function lineText(bytes: Uint8Array, start: number, end: number): string {
  if (end - start <= 512) {
    let ascii = true;
    for (let i = start; i < end; i++) {
      if (bytes[i]! >= 0x80) {
        ascii = false;
        break;
      }
    }
    if (ascii) return String.fromCharCode.apply(null, bytes.subarray(start, end) as unknown as number[]);
  }
  const part = bytes.subarray(start, end);
  try {
    return utf8.decode(part);
  } catch {
    return latin1.decode(part);
  }
}
