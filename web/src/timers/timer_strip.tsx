/** What runs or rings, in a word or two, on every station: it leads to the timers. */

import { countdown } from "../shop/clock";
import { hrefTo, route, sheathOnBench } from "../shell/route";
import { benchTime, isHeard, secondsLeft, timers } from "./timers";
import "./timers.css";

export function TimerStrip() {
  const [next] = timers.value;
  // At the Heat station the timers themselves are seen.
  if (next === undefined || route.value.station === "heat") return null;
  const now = benchTime.value;
  const sheath = sheathOnBench.value;
  const more = timers.value.length - 1;
  return (
    <a
      aria-label={`Timer: ${next.title}`}
      class={`timer-strip${isHeard(next, now) ? " timer-heard" : ""}`}
      href={sheath === null ? hrefTo("heat") : hrefTo("heat", sheath)}
    >
      <strong>{next.ends <= now ? "now" : countdown(secondsLeft(next, now))}</strong>
      <span class="timer-strip-title">
        {next.title}
        {more > 0 ? ` and ${more} more` : ""}
      </span>
    </a>
  );
}
