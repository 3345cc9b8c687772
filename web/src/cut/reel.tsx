/** The slider of time, marked where cutters change, and how fast it runs. */

import { countdown } from "../shop/clock";
import type { Preview } from "../three/preview";
import { RATES, type Clock } from "./clock";
import { cutterInShort, type Stretch } from "./stretches";

interface ReelProps {
  readonly preview: Preview;
  readonly stretches: readonly Stretch[];
  readonly clock: Clock;
}

export function Reel({ preview, stretches, clock }: ReelProps) {
  const total = preview.totalSeconds;
  return (
    <div class="reel">
      <div class="reel-keys">
        <RunKey clock={clock} />
        <Rates clock={clock} />
        <TimeThere clock={clock} total={total} />
      </div>
      <div class="reel-track">
        <ol class="stretches">
          {stretches.map(({ cutter, from, to }) => (
            <li key={from} style={{ flexGrow: to - from }}>
              <button type="button" onClick={() => clock.goTo(from)} title={`To where T${cutter.number} begins, ${countdown(from)}`}>
                {cutterInShort(cutter)}
              </button>
            </li>
          ))}
        </ol>
        <Slider clock={clock} total={total} />
      </div>
    </div>
  );
}

function RunKey({ clock }: { clock: Clock }) {
  const running = clock.running.value;
  return (
    <button type="button" class="brass watch" onClick={() => (running ? clock.halt() : clock.run())}>
      {running ? "Hold still" : "Watch"}
    </button>
  );
}

function Rates({ clock }: { clock: Clock }) {
  return (
    <div class="stand-sides" role="group" aria-label="How fast">
      {RATES.map((rate) => (
        <button key={rate} type="button" class="rate" aria-pressed={clock.rate.value === rate} onClick={() => clock.hasten(rate)}>
          {rate}×
        </button>
      ))}
    </div>
  );
}

function TimeThere({ clock, total }: { clock: Clock; total: number }) {
  return (
    <output class="time-there">
      <strong>{countdown(clock.time.value)}</strong> of {countdown(total)}
    </output>
  );
}

function Slider({ clock, total }: { clock: Clock; total: number }) {
  const time = clock.time.value;
  return (
    <label class="reel-slider">
      <span class="unseen">Time since the program began</span>
      <input
        type="range"
        min="0"
        max={total}
        step="any"
        value={time}
        aria-valuetext={`${countdown(time)} of ${countdown(total)}`}
        onInput={(event) => {
          clock.halt();
          clock.goTo(event.currentTarget.valueAsNumber);
        }}
        onKeyDown={(event) => {
          // By its own step a browser would go by seconds or by a tenth of the whole.
          const by = event.key === "ArrowRight" ? 1 : event.key === "ArrowLeft" ? -1 : 0;
          if (by === 0) return;
          event.preventDefault();
          clock.goTo(time + by * (event.shiftKey ? 10 : 1));
        }}
      />
    </label>
  );
}
