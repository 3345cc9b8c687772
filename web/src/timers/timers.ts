/** Timers: kept by the bench, counted here, heard on every page that is open. */

import { signal } from "@preact/signals";
import { call } from "../state/api";
import { onChanged, onReturn } from "../state/events";
import { keepAwake, watchAwake } from "./awake";
import { layDown, ring } from "./bell";

export interface Timer {
  readonly id: string;
  readonly title: string;
  readonly seconds: number;
  /** Milliseconds since 1970, by the clock of the bench. */
  readonly ends: number;
}

/** As the bench tells of it, with its own time. */
export interface TimerAnswer extends Timer {
  readonly now: number;
}

export const timers = signal<readonly Timer[]>([]);
/** The time by the clock of the bench, ms since 1970; it moves while a timer runs or rings. */
export const benchTime = signal(Date.now());

/** A timer that ended longer ago than this, ms, is shown but no longer heard. */
export const HEARD_FOR = 10 * 60_000;
const TICK = 250;

let offset = 0;
let ticking = 0;

/** Count the timers and ring when one ends, until told to stop. */
export function watchTimers(): () => void {
  void readTimers();
  const stops = [
    onChanged((told) => {
      if (told.what === "timer") void readTimers();
    }),
    onReturn(() => void readTimers()),
    watchAwake(),
  ];
  return () => {
    for (const stop of stops) stop();
    window.clearInterval(ticking);
    ticking = 0;
  };
}

async function readTimers(): Promise<void> {
  try {
    take(await call<TimerAnswer[]>("GET", "timers"));
  } catch {
    // Those known go on by themselves; they are read again when the line is back.
  }
}

export async function startTimer(title: string, seconds: number): Promise<void> {
  const { now, ...timer } = await call<TimerAnswer>("POST", "timers", { title, seconds });
  take([...timers.value.filter(({ id }) => id !== timer.id).map((each) => ({ ...each, now })), { ...timer, now }]);
}

/** Stop a timer, or clear one that has rung. */
export async function clearTimer(id: string): Promise<void> {
  await call("DELETE", `timers/${encodeURIComponent(id)}`);
  timers.value = timers.value.filter((timer) => timer.id !== id);
  tick();
}

function take(answers: readonly TimerAnswer[]): void {
  const [first] = answers;
  if (first !== undefined && Number.isFinite(first.now)) offset = first.now - Date.now();
  timers.value = answers.map(({ id, title, seconds, ends }) => ({ id, title, seconds, ends })).sort((a, b) => a.ends - b.ends);
  tick();
}

function tick(): void {
  const now = Date.now() + offset;
  benchTime.value = now;
  ring(timers.value.some((timer) => isHeard(timer, now)));
  layDown(timers.value.map(({ ends }) => ends), now);
  keepAwake(timers.value.some(({ ends }) => ends > now));
  const needed = timers.value.some((timer) => timer.ends + HEARD_FOR > now);
  if (needed && ticking === 0) ticking = window.setInterval(tick, TICK);
  if (!needed && ticking !== 0) {
    window.clearInterval(ticking);
    ticking = 0;
  }
}

export function isHeard(timer: Timer, now: number): boolean {
  return timer.ends <= now && now < timer.ends + HEARD_FOR;
}

/** Whole seconds that are left, never below 0. */
export function secondsLeft(timer: Timer, now: number): number {
  return Math.max(0, Math.ceil((timer.ends - now) / 1000));
}
