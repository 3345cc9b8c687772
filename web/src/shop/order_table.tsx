/** Orders from a table: bad rows are named by their line, good ones kept only when asked. */

import { useState } from "preact/hooks";
import { hrefTo } from "../shell/route";
import { call } from "../state/api";
import { useDoing } from "./asked";
import { Trouble } from "./parts";
import type { Entered } from "./types";

const COLUMNS =
  "customer, model or knife, hand, sheet, colour, clip, marks, hold, due, quantity, placed, note";

/** A page that lists more bad rows than these helps nobody. */
const MOST_SHOWN = 50;

export function FromTable() {
  const { busy, problem, run } = useDoing();
  const [file, setFile] = useState<File | null>(null);
  const [told, setTold] = useState<Entered | null>(null);
  const send = async (keepGood: boolean): Promise<void> => {
    if (!file) return;
    setTold(null);
    const form = new FormData();
    form.set("file", file);
    form.set("keep_good", String(keepGood));
    setTold(await run(() => call<Entered>("POST", "shop/orders/table", form)));
  };
  return (
    <section class="leaf">
      <a href={hrefTo("day", "orders")}>All orders</a>
      <h1>Orders from a table</h1>
      <p>
        A CSV file whose first line names its columns: {COLUMNS}. Commas or semicolons part the
        cells, an empty cell takes what is usual, days are written 2026-03-14.
      </p>
      <form
        class="narrow"
        onSubmit={(event) => {
          event.preventDefault();
          void send(false);
        }}
      >
        <label class="labelled">
          <span>The file</span>
          <input
            type="file"
            required
            accept=".csv,text/csv,text/plain"
            onChange={(event) => {
              setFile(event.currentTarget.files?.[0] ?? null);
              setTold(null);
            }}
          />
        </label>
        <button type="submit" class="brass large" disabled={busy || file === null}>
          {busy ? "Reading …" : "Enter its orders"}
        </button>
      </form>
      <Trouble problem={problem} />
      {told && <Came told={told} busy={busy} keepGood={() => void send(true)} />}
    </section>
  );
}

interface CameProps {
  readonly told: Entered;
  readonly busy: boolean;
  readonly keepGood: () => void;
}

function Came({ told, busy, keepGood }: CameProps) {
  const kept = told.entered.length;
  const nothing = kept === 0;
  return (
    <div role="status">
      <p class={nothing ? "trouble" : "is-good"}>
        {nothing ? "Nothing was entered." : `${counted(kept, "order")} entered.`}
        {told.bad.length > 0 && ` ${counted(told.bad.length, "row")} cannot be.`}
        {nothing && told.bad.length === 0 && " The table holds no rows."}
      </p>
      <ul class="rows">
        {told.bad.slice(0, MOST_SHOWN).map((row) => (
          <li key={row.place}>
            <span>
              <strong>
                {row.place}
                {row.field ? `, ${row.field}` : ""}
              </strong>
              : {row.sentence}. {row.mend}.
            </span>
          </li>
        ))}
      </ul>
      {told.bad.length > MOST_SHOWN && <p>and {told.bad.length - MOST_SHOWN} more.</p>}
      {nothing && told.good > 0 && (
        <div class="keys">
          <button type="button" class="large" disabled={busy} onClick={keepGood}>
            Enter the {counted(told.good, "good row")} all the same
          </button>
          <p class="quiet">Or mend the rows in the file, and choose it again.</p>
        </div>
      )}
      {kept > 0 && (
        <p>
          The first is <a href={hrefTo("day", "orders", told.entered[0] as string)}>{told.entered[0]}</a>
          {kept > 1 ? `, the last ${told.entered[kept - 1]}` : ""}.
        </p>
      )}
    </div>
  );
}

function counted(count: number, word: string): string {
  return `${count} ${word}${count === 1 ? "" : "s"}`;
}
