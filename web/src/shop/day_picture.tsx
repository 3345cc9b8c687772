/** The plan as a picture, an hour at a time or whole; drawn by the server. */

import { useState } from "preact/hooks";
import type { DayLeaf } from "./types";

const SPANS: readonly (readonly [string, number | null])[] = [
  ["An hour", 1],
  ["Half a day", 4],
  ["The whole plan", null],
];

export function DayPicture({ now }: { now: DayLeaf }) {
  const passed = now.made ? Math.max(0, (Date.parse(now.now) - Date.parse(now.made)) / 3.6e6) : 0;
  const begin = Math.min(Math.floor(passed * 4) / 4, Math.max(0, now.hours - 0.25));
  const [span, setSpan] = useState<number | null>(1);
  const [from, setFrom] = useState<number | null>(null);
  const start = span === null ? 0 : (from ?? begin);
  const step = (span ?? 1) / 2;
  const asked = new URLSearchParams({ from: start.toFixed(2), made: now.made ?? "" });
  if (span !== null) asked.set("hours", String(span));
  return (
    <section class="day-picture">
      <div class="keys">
        <h2>The plan</h2>
        {SPANS.map(([words, hours]) => (
          <button
            type="button"
            key={words}
            aria-pressed={span === hours}
            onClick={() => setSpan(hours)}
          >
            {words}
          </button>
        ))}
        <span class="pair">
          <button
            type="button"
            disabled={span === null || start <= 0}
            onClick={() => setFrom(Math.max(0, start - step))}
          >
            Earlier
          </button>
          <button
            type="button"
            disabled={span === null || start + step >= now.hours}
            onClick={() => setFrom(start + step)}
          >
            Later
          </button>
        </span>
      </div>
      <div class="picture-roll" tabIndex={0} role="group" aria-label="The plan as a picture">
        <img
          src={`/api/shop/plan/gantt.svg?${asked}`}
          alt={`What hands and stations do, ${now.left} steps left`}
        />
      </div>
    </section>
  );
}
