/** Keep the screen awake while a timer runs: a phone that sleeps rings late or not at all. */

import { signal } from "@preact/signals";

/** Whether this browser lets a page ask for it. It does only on the same computer, or over https. */
export const canKeepAwake = typeof navigator !== "undefined" && "wakeLock" in navigator;
export const keptAwake = signal(false);

let wanted = false;
let held: WakeLockSentinel | null = null;

export function keepAwake(on: boolean): void {
  if (on === wanted) return;
  wanted = on;
  if (on) void take();
  else void held?.release().catch(() => undefined);
}

/** The browser lets go of it whenever the page is hidden; take it again when it is seen. */
export function watchAwake(): () => void {
  const seen = (): void => {
    if (wanted && !document.hidden) void take();
  };
  document.addEventListener("visibilitychange", seen);
  return () => {
    document.removeEventListener("visibilitychange", seen);
    keepAwake(false);
  };
}

async function take(): Promise<void> {
  if (!canKeepAwake || held !== null) return;
  try {
    held = await navigator.wakeLock.request("screen");
    keptAwake.value = true;
    held.addEventListener("release", () => {
      held = null;
      keptAwake.value = false;
    });
    if (!wanted) await held.release();
  } catch {
    keptAwake.value = false; // A battery nearly empty, say: the browser decides.
  }
}
