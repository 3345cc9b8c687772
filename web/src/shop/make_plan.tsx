/** The plan is made in the morning, and anew when something ran late. */

import { call } from "../state/api";
import { putAway, untilOver } from "../state/works";
import { useDoing } from "./asked";
import { Trouble } from "./parts";
import type { DayLeaf } from "./types";

interface MakeProps {
  readonly now: DayLeaf;
  readonly again: () => void;
  /** It is so far behind that it should be made anew. */
  readonly hurry: boolean;
}

export function MakePlan({ now, again, hurry }: MakeProps) {
  const { busy, problem, run } = useDoing();
  const make = async (anew: boolean): Promise<void> => {
    const over = await run(async () => {
      const { work } = await call<{ work: string }>("POST", "shop/plan", { anew });
      return untilOver(work);
    });
    // What went wrong with a work is told at the head of every station; what went well, here.
    if (over?.state === "done") putAway(over.id);
    if (over) again();
  };
  return (
    <section class="card">
      <h2>Plan</h2>
      {hurry && (
        <p class="trouble">
          You are behind. Made anew, the plan begins with what runs at this moment.
        </p>
      )}
      <div class="keys">
        <button
          type="button"
          class={now.planned && !hurry ? "large" : "brass large"}
          disabled={busy}
          onClick={() => void make(now.planned)}
        >
          {busy ? "Planning …" : now.planned ? "A step ran late: plan anew" : "Plan the day"}
        </button>
        {now.planned && (
          <button type="button" disabled={busy} onClick={() => void make(false)}>
            Search longer
          </button>
        )}
      </div>
      <p class="quiet">A morning’s plan is searched for 20 seconds, one made anew for one.</p>
      <Trouble problem={problem} />
    </section>
  );
}
