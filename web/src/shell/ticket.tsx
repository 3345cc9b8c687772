/** The ticket at the head: which sheath lies on the bench, for which knife, and how it stands. */

import { useEffect } from "preact/hooks";
import { reached } from "../state/api";
import { hello } from "../state/server";
import { standing, watchStanding } from "../state/standing";
import { hrefTo, route, sheathOnBench } from "./route";
import { Switches } from "./switches";
import { TimerStrip } from "../timers/timer_strip";

export function Ticket() {
  const name = sheathOnBench.value;
  useEffect(() => watchStanding(name), [name]);
  const now = standing.value;
  return (
    <header class="head">
      <div class="ticket">
        {name ? (
          <>
            <a class="ticket-name" href={hrefTo("sheath", name)}>
              {now?.title ?? name}
            </a>
            <span class="ticket-knife">
              {now?.knife ? (
                <>
                  for <a href={hrefTo("knives", now.knife)}>{now.knifeTitle ?? now.knife}</a>
                </>
              ) : null}
            </span>
            <span class={`ticket-state is-${now?.mood ?? "plain"}`} aria-live="polite">
              {now && <a href={hrefTo(now.station, name)}>{now.words}</a>}
            </span>
          </>
        ) : (
          <span class="ticket-name">
            {hello.value?.folder_name ? `Bench of ${hello.value.folder_name}` : "chape bench"}
          </span>
        )}
      </div>
      {!reached.value && (
        <p class="lost" role="status">
          No connection. Your last change is kept here and goes out when it is back.
        </p>
      )}
      <TimerStrip />
      {hello.value?.lan && (
        <a
          class="devices-link"
          href={hrefTo("devices")}
          aria-current={route.value.station === "devices" ? "page" : undefined}
        >
          Devices
        </a>
      )}
      <Switches />
    </header>
  );
}
