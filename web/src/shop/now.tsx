/** Now: the next thing for the hands on top, what runs alone beside it, the day below. */

import { useEffect, useState } from "preact/hooks";
import { hrefTo } from "../shell/route";
import { call } from "../state/api";
import { useAsked, useDoing } from "./asked";
import { Alone } from "./alone";
import { clockOffset, readyAt } from "./clock";
import { DayPicture } from "./day_picture";
import { MakePlan } from "./make_plan";
import { NextStep, StepRow } from "./next_step";
import { Readings, Trouble, Waiting } from "./parts";
import { told } from "../state/sentences";
import type { DayLeaf, ShopLeaf, TaskRow, Ticked } from "./types";
import { duration } from "../state/units";

const SHOWN = 12;
const EVERY_SECONDS = 30;

/** A plan that is this far behind is worth making anew, s. */
const BEHIND = 300;

export function Now() {
  const [lines, setLines] = useState(SHOWN);
  const day = useAsked<DayLeaf>(`shop/plan?lines=${lines}`, EVERY_SECONDS);
  const { busy, problem, run } = useDoing();
  const [said, setSaid] = useState("");
  const now = day.value;
  if (now === null) return day.problem ? <Trouble problem={day.problem} /> : <Waiting />;

  const tick = async (task: string, took: number | null): Promise<void> => {
    const done = await run(() =>
      call<Ticked>("POST", `shop/plan/tick?lines=${lines}`, { task, took }),
    );
    if (done === null) return;
    day.put(done.day);
    setSaid(`${task} is done, ${done.pieces} ${done.pieces === 1 ? "piece" : "pieces"}`);
  };
  const { setUps, first, others } = arranged(now.next);
  return (
    <div class="now">
      <section class="now-hands">
        <p class="unseen" role="status">
          {said}
        </p>
        <Trouble problem={problem ?? day.problem} />
        {first ? (
          <NextStep key={first.task} row={first} setUps={setUps} busy={busy} tick={tick} />
        ) : (
          <NothingLeft now={now} />
        )}
        <ol class="steps">
          {others.map((row) => (
            <StepRow key={`${row.task ?? row.about}${row.start}`} row={row} busy={busy} tick={tick} />
          ))}
        </ol>
        {now.left > now.next.length && (
          <button type="button" class="more" onClick={() => setLines(lines + 40)}>
            {now.left - now.next.length} more steps
          </button>
        )}
      </section>
      <aside class="now-beside">
        <Alone rows={now.alone} offset={useOffset(now.now)} ended={day.again} />
        {now.planned && <DayReadings now={now} />}
        <MakePlan now={now} again={day.again} hurry={now.behind > BEHIND} />
        <LookAt />
      </aside>
      {now.planned && <DayPicture now={now} />}
    </div>
  );
}

interface Arranged {
  readonly setUps: readonly TaskRow[];
  readonly first: TaskRow | null;
  readonly others: readonly TaskRow[];
}

/** The next step that can be ticked, what has to be set up before it, and what comes after. */
function arranged(rows: readonly TaskRow[]): Arranged {
  const at = rows.findIndex((row) => row.task !== null);
  if (at < 0) return { setUps: rows, first: null, others: [] };
  return { setUps: rows.slice(0, at), first: rows[at] as TaskRow, others: rows.slice(at + 1) };
}

/** Taken when the answer comes, so that it does not drift while it is shown. */
function useOffset(serverNow: string): number {
  const [offset, setOffset] = useState(() => clockOffset(serverNow, Date.now()));
  useEffect(() => setOffset(clockOffset(serverNow, Date.now())), [serverNow]);
  return offset;
}

function NothingLeft({ now }: { now: DayLeaf }) {
  return (
    <section class="next">
      <h1>{now.planned ? "Nothing is left to do" : "The day is not planned yet"}</h1>
      <p>
        Take <a href={hrefTo("day", "batches")}>a batch</a> into work, then plan the day.
      </p>
    </section>
  );
}

function DayReadings({ now }: { now: DayLeaf }) {
  return (
    <section class="card">
      <h2>The day</h2>
      {now.relaxed && (
        <p class="trouble">
          Something hot has to wait for hands. Go to it first, and expect to scrap it.
        </p>
      )}
      <Readings
        rows={[
          ["Last parcel ready", now.ready ? readyAt(now.ready, now.now) : "–"],
          ["Steps left", String(now.left)],
          ["Behind the plan", now.behind > 59 ? duration(now.behind) : "no"],
          ["Late", now.late.length ? now.late.join(", ") : "none"],
        ]}
      />
      <p class="quiet">
        {now.gap > 0
          ? `No plan is better by more than ${(now.gap * 100).toFixed(1)} %: that is proved.`
          : "There is no better plan: that is proved."}
      </p>
    </section>
  );
}

/** So many findings are shown before one asks for the others. */
const FIRST_FINDINGS = 8;

function LookAt() {
  const [all, setAll] = useState(false);
  const shop = useAsked<ShopLeaf>("shop").value;
  if (!shop || shop.findings.length === 0) return null;
  return (
    <section class="card">
      <h2>What to look at</h2>
      <ul class="look-at">
        {shop.findings.slice(0, all ? undefined : FIRST_FINDINGS).map((each) => (
          <li key={`${each.code}${each.place}`} class={`is-${each.severity}`}>
            <a href={leadsTo(each.place)}>
              <strong>{each.place}</strong> {told(each.message)} {told(each.mend)}
            </a>
          </li>
        ))}
      </ul>
      {!all && shop.findings.length > FIRST_FINDINGS && (
        <button type="button" class="more" onClick={() => setAll(true)}>
          {shop.found - FIRST_FINDINGS} more
        </button>
      )}
      {all && shop.found > shop.findings.length && (
        <p class="quiet">and {shop.found - shop.findings.length} more: chape shop status lists them.</p>
      )}
    </section>
  );
}

function leadsTo(place: string): string {
  const order = /^order (\S+)$/.exec(place);
  if (order) return hrefTo("day", "orders", order[1] as string);
  return hrefTo("day", place.startsWith("mould ") ? "batches" : "shelf");
}
