/** One step of the plan: the next one large, the others as a list; each is ticked with two presses. */

import { useEffect, useState } from "preact/hooks";
import { duration } from "../state/units";
import { countdown, timeOfDay } from "./clock";
import { SureKey } from "./parts";
import { StationMark } from "./station_mark";
import type { TaskRow } from "./types";

interface StepProps {
  readonly row: TaskRow;
  readonly busy: boolean;
  readonly tick: (task: string, took: number | null) => Promise<void>;
}

export function NextStep({ row, setUps, busy, tick }: StepProps & { setUps: readonly TaskRow[] }) {
  const [began, setBegan] = useState<number | null>(null);
  const [written, setWritten] = useState("");
  const { task } = row;
  const took = (): number | null => {
    if (written !== "") return Number(written);
    return began === null ? null : Math.round((Date.now() - began) / 1000);
  };
  return (
    <section class="next" aria-label="Next for your hands">
      {setUps.map((each) => (
        <p class="next-set-up" key={each.about}>
          First {each.title.replace(/^Set up/, `set up ${each.about}`)}, {duration(each.seconds)}.
        </p>
      ))}
      <div class="next-head">
        <StationMark station={row.station} />
        <div>
          <p class="next-where">
            {row.station_title} · {row.about}
          </p>
          <h1>{row.title}</h1>
        </div>
      </div>
      <p class="next-time">
        Planned for {timeOfDay(row.start)}, {duration(row.seconds)} of hands
        {row.alone > 0 ? `; then it runs ${duration(row.alone)} by itself` : ""}.
      </p>
      {task !== null && (
        <div class="next-keys">
          <SureKey
            kind="brass"
            large
            words="It is done"
            sure="Yes, it is done"
            disabled={busy}
            act={() => void tick(task, took())}
          />
          {began === null ? (
            <button type="button" class="large" onClick={() => setBegan(Date.now())}>
              I begin now
            </button>
          ) : (
            <Stopwatch began={began} />
          )}
          <label class="took">
            <span>Took</span>
            <input
              inputMode="numeric"
              value={written}
              placeholder={began === null ? `${row.seconds} as planned` : "as measured"}
              onInput={(event) => setWritten(event.currentTarget.value.replace(/[^\d]/g, ""))}
            />
            <em>s</em>
          </label>
        </div>
      )}
    </section>
  );
}

function Stopwatch({ began }: { began: number }) {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    const timer = window.setInterval(() => setNow(Date.now()), 250);
    return () => window.clearInterval(timer);
  }, []);
  return (
    <output class="stopwatch" aria-label="Seconds since you began">
      {countdown(Math.max(0, (now - began) / 1000))}
    </output>
  );
}

export function StepRow({ row, busy, tick }: StepProps) {
  const { task } = row;
  return (
    <li class="step">
      <StationMark station={row.station} />
      <div class="step-words">
        <strong>{row.title}</strong>
        <span>
          {row.about} · {row.station_title} · {timeOfDay(row.start)} · {duration(row.seconds)}
        </span>
      </div>
      {task === null ? (
        <span class="quiet">set-up</span>
      ) : (
        <SureKey
          words="Done"
          sure="Yes, done"
          name={`${task} is done`}
          disabled={busy}
          act={() => void tick(task, null)}
        />
      )}
    </li>
  );
}
