/** What runs by itself, each with the time it still takes; a bell when one is over. */

import { useEffect, useRef, useState } from "preact/hooks";
import { startTimer, timers } from "../timers/timers";
import { useDoing } from "./asked";
import { countdown, secondsUntil, timeOfDay } from "./clock";
import { Trouble } from "./parts";
import { StationMark } from "./station_mark";
import type { AloneRow } from "./types";

interface AloneProps {
  readonly rows: readonly AloneRow[];
  /** How far this device's clock is behind the server's, ms. */
  readonly offset: number;
  /** Called once when one of them is over. */
  readonly ended: () => void;
}

/** From so many seconds before its end on, a hot sheet wants you beside it. */
const SOON = 15;

export function Alone({ rows, offset, ended }: AloneProps) {
  const [, redraw] = useState(0);
  const told = useRef(new Set<string>());
  useEffect(() => {
    if (rows.length === 0) return undefined;
    const timer = window.setInterval(() => redraw((times) => times + 1), 250);
    return () => window.clearInterval(timer);
  }, [rows.length]);
  const now = Date.now();
  const over = rows.filter((row) => secondsUntil(row.until, now, offset) === 0);
  useEffect(() => {
    const fresh = over.filter((row) => !told.current.has(row.about + row.until));
    if (fresh.length === 0) return;
    for (const row of fresh) told.current.add(row.about + row.until);
    ended();
  }, [over.length]);
  return (
    <section class="card alone">
      <h2>Runs by itself</h2>
      {rows.length === 0 && <p class="quiet">Nothing at the moment.</p>}
      <ul>
        {rows.map((row) => {
          const left = secondsUntil(row.until, now, offset);
          return (
            <li key={row.about + row.title} class={left <= SOON ? "is-soon" : ""}>
              <StationMark station={row.station} />
              <span class="alone-words">
                <strong>{row.about}</strong>
                <span>
                  {row.station_title}, until {timeOfDay(row.until, true)}
                </span>
              </span>
              <output class="digits">{left === 0 ? "over" : countdown(left)}</output>
              {left > 0 && <RingKey row={row} left={left} />}
            </li>
          );
        })}
      </ul>
    </section>
  );
}

/** Starts one of the bench's own timers, which ring on every page that is open. */
function RingKey({ row, left }: { row: AloneRow; left: number }) {
  const { busy, problem, run } = useDoing();
  const title = `${row.about}, ${row.station_title}`;
  if (timers.value.some((timer) => timer.title === title)) return <span class="quiet">rings</span>;
  return (
    <>
      <button
        type="button"
        aria-label={`Ring when ${title} is over`}
        disabled={busy}
        onClick={() => void run(() => startTimer(title, left))}
      >
        Ring
      </button>
      <Trouble problem={problem} />
    </>
  );
}
