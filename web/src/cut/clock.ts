/** The time at the slider, and its running. */

import { batch, type ReadonlySignal, signal } from "@preact/signals";

export const RATES = [1, 5, 20, 50, 100, 200] as const;

export interface Clock {
  /** Seconds since the program's start. */
  readonly time: ReadonlySignal<number>;
  readonly running: ReadonlySignal<boolean>;
  readonly rate: ReadonlySignal<number>;
  goTo(seconds: number): void;
  run(): void;
  halt(): void;
  hasten(rate: number): void;
}

/** When the next picture is drawn, and how to call that off: a browser's own by default. */
export interface Pictures {
  next(drawn: (milliseconds: number) => void): number;
  callOff(id: number): void;
}

const SCREEN: Pictures = {
  next: (drawn) => requestAnimationFrame(drawn),
  callOff: (id) => cancelAnimationFrame(id),
};

/** A tab that slept must not leap: at most this many seconds pass from picture to picture. */
const LONGEST_STEP = 0.25;

export function makeClock(total: number, pictures: Pictures = SCREEN): Clock {
  // At its end a program shows all it does; watched, it begins at the beginning.
  const time = signal(total);
  const running = signal(false);
  const rate = signal<number>(50);
  let asked = 0;
  let before: number | null = null;

  function step(now: number): void {
    const passed = before === null ? 0 : Math.min(LONGEST_STEP, Math.max(0, now - before) / 1000);
    before = now;
    const next = Math.min(total, time.value + passed * rate.value);
    batch(() => {
      time.value = next;
      if (next >= total) running.value = false;
    });
    asked = running.value ? pictures.next(step) : 0;
  }

  function halt(): void {
    if (asked !== 0) pictures.callOff(asked);
    asked = 0;
    running.value = false;
  }

  return {
    time,
    running,
    rate,
    goTo(seconds) {
      time.value = Number.isFinite(seconds) ? Math.min(total, Math.max(0, seconds)) : 0;
    },
    run() {
      if (running.value || total <= 0) return;
      if (time.value >= total) time.value = 0;
      running.value = true;
      before = null;
      asked = pictures.next(step);
    },
    halt,
    hasten(faster) {
      rate.value = faster;
    },
  };
}
