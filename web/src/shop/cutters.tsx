/** How long each cutter has cut, so that none is used past its life. */

import { call } from "../state/api";
import { useAsked, useDoing } from "./asked";
import { SureKey, Trouble } from "./parts";
import type { CutterRow } from "./types";

export function Cutters() {
  const kept = useAsked<readonly CutterRow[]>("shop/cutters");
  const { busy, problem, run } = useDoing();
  const changed = async (name: string): Promise<void> => {
    const rows = await run(() => call<readonly CutterRow[]>("POST", "shop/cutters/changed", { name }));
    if (rows) kept.put(rows);
  };
  if (kept.value === null) return <Trouble problem={kept.problem} />;
  return (
    <section>
      <h2 class="above">Cutters</h2>
      <Trouble problem={problem} />
      {kept.value.length === 0 && (
        <p class="quiet">
          Name the job folder of a model as its <code>job</code> in the shop file, and what its
          cutters have cut is counted here.
        </p>
      )}
      <ul class="rows">
        {kept.value.map((row) => (
          <li key={row.name}>
            <span>
              {row.name}:{" "}
              <strong class={isWorn(row) ? "is-stop" : ""}>{row.minutes.toFixed(0)} min</strong>
              {row.life === null ? " cut" : ` cut of ${row.life.toFixed(0)}`}
            </span>
            <SureKey
              words="Changed or ground"
              sure="Yes, count it anew"
              name={`${row.name} was changed or ground`}
              disabled={busy}
              act={() => void changed(row.name)}
            />
          </li>
        ))}
      </ul>
    </section>
  );
}

function isWorn(row: CutterRow): boolean {
  return row.life !== null && row.minutes >= 0.9 * row.life;
}
