/** A time as a person types it. */

const LONGEST = 86_400;

/** Seconds of `2`, `2.5` or `2,5` (minutes), `2:30` or `1:02:30`; null: no time, or more than a day. */
export function secondsTyped(text: string): number | null {
  const plain = text.trim().replace(",", ".");
  if (/^\d+(\.\d+)?$/.test(plain)) return within(60 * Number(plain));
  const match = /^(?:(\d+):)?(\d+):([0-5]\d)$/.exec(plain);
  if (match === null) return null;
  const [hours, minutes, seconds] = [match[1] ?? "0", match[2], match[3]].map(Number) as [number, number, number];
  if (match[1] !== undefined && minutes > 59) return null;
  return within(3600 * hours + 60 * minutes + seconds);
}

function within(seconds: number): number | null {
  return seconds > 0 && seconds <= LONGEST ? seconds : null;
}
