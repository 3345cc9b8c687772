/** Times as a shop says them, told by the server's clock and not by the phone's. */

/** How far this device's clock is behind the server's, ms. */
export function clockOffset(serverNow: string, here: number): number {
  return Date.parse(serverNow) - here;
}

/** Whole seconds until a moment, never below 0. */
export function secondsUntil(moment: string, here: number, offset: number): number {
  return Math.max(0, Math.ceil((Date.parse(moment) - here - offset) / 1000));
}

/** A countdown: `0:07`, `12:30`, `1:02:05`. */
export function countdown(seconds: number): string {
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor(seconds / 60) % 60;
  const rest = String(Math.floor(seconds) % 60).padStart(2, "0");
  if (hours === 0) return `${minutes}:${rest}`;
  return `${hours}:${String(minutes).padStart(2, "0")}:${rest}`;
}

/** The time of day of a moment: `08:05`. */
export function timeOfDay(moment: string, withSeconds = false): string {
  const at = new Date(moment);
  const parts = [at.getHours(), at.getMinutes(), ...(withSeconds ? [at.getSeconds()] : [])];
  return parts.map((part) => String(part).padStart(2, "0")).join(":");
}

/** When something is ready: `14:10`, or with its day where that is another. */
export function readyAt(moment: string, now: string): string {
  const [at, today] = [new Date(moment), new Date(now)];
  const time = timeOfDay(moment);
  return at.toDateString() === today.toDateString() ? time : `${weekday(at)} ${time}`;
}

/** A day such as 2026-03-14 in words: `Sat 14 Mar`, with its year where that is another. */
export function dayInWords(day: string, today = new Date()): string {
  const at = new Date(`${day}T12:00:00`);
  if (Number.isNaN(at.getTime())) return day;
  const words = `${weekday(at)} ${at.getDate()} ${at.toLocaleDateString("en-GB", { month: "short" })}`;
  return at.getFullYear() === today.getFullYear() ? words : `${words} ${at.getFullYear()}`;
}

function weekday(at: Date): string {
  return at.toLocaleDateString("en-GB", { weekday: "short" });
}

/** Money with two decimals and its currency. */
export function money(amount: number, currency: string): string {
  return `${amount.toFixed(2)} ${currency}`;
}
