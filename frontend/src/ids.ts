/** Ids made on the device: UUID version 7 (RFC 9562), without what only secure origins have. */

let lastMs = 0;
let count = 0;

/**
 * Make a UUID version 7. Ids made on one page always sort in the order they were made: a counter
 * stands in the twelve bits after the time, and the time never runs back.
 */
export function uuid7(nowMs: number = Date.now()): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  if (nowMs > lastMs) {
    lastMs = nowMs;
    count = ((bytes[6] ?? 0) << 3) | ((bytes[7] ?? 0) >> 5);
  } else {
    count += 1;
    if (count > 0xfff) {
      lastMs += 1;
      count = 0;
    }
  }
  for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(lastMs / 2 ** (8 * (5 - i))) & 0xff;
  bytes[6] = 0x70 | (count >> 8);
  bytes[7] = count & 0xff;
  bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [0, 8, 12, 16, 20].map((from, k, all) => hex.slice(from, all[k + 1] ?? 32)).join("-");
}
