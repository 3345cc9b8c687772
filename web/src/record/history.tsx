/** Every saved version, newest first, each with what was changed; one goes back by a key. */

import { useEffect, useState } from "preact/hooks";
import { call, problemOf } from "../state/api";
import type { RecordStore } from "../state/record";
import type { HistoryRow, Kept } from "../state/types";
import { told } from "../state/sentences";

export function History({ store, onClose }: { store: RecordStore<Kept>; onClose: () => void }) {
  const [rows, setRows] = useState<readonly HistoryRow[] | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  const now = store.record.value?.version ?? "";
  useEffect(() => {
    call<HistoryRow[]>("GET", `${store.place}/history`).then(setRows, (fault: unknown) =>
      setWrong(problemOf(fault).sentence),
    );
  }, [store, now]);
  const goBack = async (to: string): Promise<void> => {
    try {
      store.settle(await call<Kept>("POST", `${store.place}/back`, { to, base: now }));
    } catch (fault) {
      setWrong(problemOf(fault).sentence);
    }
  };
  return (
    <section class="history" aria-label="Earlier versions">
      <header>
        <h2>Earlier versions</h2>
        <button type="button" onClick={onClose}>
          Close
        </button>
      </header>
      {wrong && <p role="alert">{wrong}.</p>}
      {rows?.length === 0 && <p>Nothing was changed yet.</p>}
      <ol>
        {rows?.map((row, i) => (
          <li key={`${row.version} ${row.time}`}>
            <span class="history-time">{when(row.time)}</span>
            <span>{told(row.sentence)}</span>
            {row.version === now && rows.findIndex((each) => each.version === now) === i ? (
              <em>this one</em>
            ) : (
              <button type="button" disabled={row.version === now} onClick={() => void goBack(row.version)}>
                Go back to it
              </button>
            )}
          </li>
        ))}
      </ol>
    </section>
  );
}

/** Today by its hour, else by its day too. Times come as ms since 1970 or as text. */
export function when(time: number | string, now = new Date()): string {
  const then = new Date(time);
  if (Number.isNaN(then.getTime())) return String(time);
  const hour = then.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  if (then.toDateString() === now.toDateString()) return hour;
  const day = then.toLocaleDateString("en-GB", { day: "numeric", month: "short" });
  return `${day}, ${hour}`;
}
