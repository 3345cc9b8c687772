/** One timer: what it is for, the time left in digits to be read across a workshop, and its end. */

import { useState } from "preact/hooks";
import { countdown } from "../shop/clock";
import { problemOf } from "../state/api";
import { duration } from "../state/units";
import { benchTime, clearTimer, isHeard, secondsLeft, type Timer } from "./timers";

export function TimerRow({ timer }: { timer: Timer }) {
  const [wrong, setWrong] = useState<string | null>(null);
  const now = benchTime.value;
  const left = secondsLeft(timer, now);
  const over = timer.ends <= now;
  const clear = (): void => {
    clearTimer(timer.id).catch((fault: unknown) => setWrong(problemOf(fault).sentence));
  };
  return (
    <li class={`timer${over ? " timer-over" : ""}${isHeard(timer, now) ? " timer-heard" : ""}`}>
      <span class="timer-title">{timer.title}</span>
      <span class="timer-digits" role="timer" aria-label={over ? `${timer.title} is over` : `${timer.title}, time left`}>
        {over ? "now" : countdown(left)}
      </span>
      <span class="timer-bar" aria-hidden="true">
        <span style={{ width: `${over ? 100 : 100 * (1 - left / Math.max(1, timer.seconds))}%` }} />
      </span>
      <span class="quiet">{over ? `over for ${duration((now - timer.ends) / 1000)}` : `of ${countdown(timer.seconds)}`}</span>
      <button type="button" class={over ? "brass large" : "stop"} onClick={clear}>
        {over ? "Done" : "Stop"}
      </button>
      {wrong === null ? null : <p role="alert">{wrong}.</p>}
    </li>
  );
}
