/** The timers side by side, those one would set here, and one of one's own. */

import { useState } from "preact/hooks";
import "./timers.css";
import { countdown } from "../shop/clock";
import { problemOf } from "../state/api";
import { canKeepAwake } from "./awake";
import { bellHeld } from "./bell";
import { secondsTyped } from "./typed";
import { TimerRow } from "./timer_row";
import { benchTime, startTimer, timers } from "./timers";

export interface Offered {
  readonly title: string;
  readonly seconds: number;
}

export function TimerBench({ offered = [] }: { offered?: readonly Offered[] }) {
  const [wrong, setWrong] = useState<string | null>(null);
  const start = (title: string, seconds: number): void => {
    setWrong(null);
    startTimer(title, seconds).catch((fault: unknown) => setWrong(problemOf(fault).sentence));
  };
  return (
    <section class="timer-bench">
      <h2>Timers</h2>
      {timers.value.length === 0 ? (
        <p class="quiet">None runs. Those you start go on through a reload, and ring on every page that is open.</p>
      ) : (
        <ul class="timers">
          {timers.value.map((timer) => (
            <TimerRow key={timer.id} timer={timer} />
          ))}
        </ul>
      )}
      {bellHeld.value ? (
        <p class="old-job" role="alert">
          A timer is over, but this browser holds the bell until you touch the page once.
        </p>
      ) : null}
      {!canKeepAwake && timers.value.some(({ ends }) => ends > benchTime.value) ? (
        <p class="quiet">This browser can’t keep its screen awake. Where it sleeps, the bell may come late: keep it on, or use another clock too.</p>
      ) : null}
      <div class="choices">
        {offered.map(({ title, seconds }) => (
          <button key={title} type="button" class="large" onClick={() => start(title, seconds)}>
            {title}, {countdown(seconds)}
          </button>
        ))}
      </div>
      <OwnTimer start={start} />
      {wrong === null ? null : <p role="alert">{wrong}.</p>}
    </section>
  );
}

function OwnTimer({ start }: { start: (title: string, seconds: number) => void }) {
  const [title, setTitle] = useState("");
  const [time, setTime] = useState("");
  const seconds = secondsTyped(time);
  return (
    <form
      class="own-timer"
      onSubmit={(event) => {
        event.preventDefault();
        if (seconds === null) return;
        start(title.trim() || "Timer", seconds);
        setTime("");
      }}
    >
      <label>
        One of your own, for
        <input type="text" maxLength={60} placeholder="glue" value={title} onInput={(event) => setTitle(event.currentTarget.value)} />
      </label>
      <label>
        Minutes, or min:s
        <input
          type="text"
          inputMode="text"
          placeholder="2:30"
          value={time}
          aria-invalid={time !== "" && seconds === null}
          onInput={(event) => setTime(event.currentTarget.value)}
        />
      </label>
      <button type="submit" disabled={seconds === null}>
        Start
      </button>
    </form>
  );
}
