/** The device's clock as the server wants it, and how long to wait before trying again. */

function two(n: number): string {
  return String(Math.floor(Math.abs(n))).padStart(2, "0");
}

/** Local time with its distance from UTC, so that the day the grower means is not lost. */
export function stamp(when: Date = new Date(), offsetMin: number = -when.getTimezoneOffset()): string {
  const local = new Date(when.getTime() + offsetMin * 60_000).toISOString().slice(0, -1);
  const sign = offsetMin < 0 ? "-" : "+";
  return `${local}${sign}${two(offsetMin / 60)}:${two(Math.abs(offsetMin) % 60)}`;
}

const FIRST_WAIT_MS = 2_000;
const LONGEST_WAIT_MS = 60_000;

/**
 * Milliseconds to wait after a number of failed tries: doubling, at most a minute, and spread so
 * that two devices do not knock together. `spread` is 0..1.
 */
export function backoff(failures: number, spread: number = Math.random()): number {
  const whole = Math.min(FIRST_WAIT_MS * 2 ** Math.max(0, failures - 1), LONGEST_WAIT_MS);
  return whole * (0.75 + 0.25 * spread);
}

/** Read a Retry-After header: seconds or a date; undefined when it is neither. */
export function retryAfterMs(header: string | null, nowMs: number = Date.now()): number | undefined {
  if (header === null || header.trim() === "") return undefined;
  const seconds = Number(header);
  if (Number.isFinite(seconds)) return Math.max(0, seconds * 1000);
  const date = Date.parse(header);
  return Number.isNaN(date) ? undefined : Math.max(0, date - nowMs);
}
