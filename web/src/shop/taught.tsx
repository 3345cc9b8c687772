/** What the run log teaches: shown with its evidence, used only once a person accepts it. */

import { call } from "../state/api";
import { useAsked, useDoing } from "./asked";
import { Heats } from "./heats";
import { SureKey, Trouble, Waiting } from "./parts";
import type { LearnLeaf, TaughtUnit } from "./types";

type Proposed = LearnLeaf["proposed"][number];

export function Taught() {
  const leaf = useAsked<LearnLeaf>("shop/learn");
  const { busy, problem, run } = useDoing();
  const now = leaf.value;
  if (now === null) return leaf.problem ? <Trouble problem={leaf.problem} /> : <Waiting />;
  const send = async (what: string, word: "accept" | "forget"): Promise<void> => {
    const next = await run(() => call<LearnLeaf>("POST", `shop/learn/${word}`, { what }));
    if (next) leaf.put(next);
  };
  return (
    <section>
      <h1>What the run log teaches</h1>
      <p>
        A step’s time is the median of its ticks, so that a telephone call does not count for much.
        A time in the shop file goes before all of them.
      </p>
      <Trouble problem={problem} />
      {now.proposed.length === 0 && <p>Nothing new is proposed.</p>}
      <div class="cards">
        {now.proposed.map((row) => (
          <section class="card taught" key={row.what}>
            <h2>{row.title}</h2>
            <p class="price">
              {figure(row, row.value)} <em>instead of {figure(row, row.now)}</em>
            </p>
            <Range row={row} />
            <p class="quiet">
              {row.low < row.high
                ? `It lies between ${figure(row, row.low)} and ${figure(row, row.high)} with a chance of 95 %; `
                : ""}
              {row.count} {row.evidence} {row.count === 1 ? "speaks" : "speak"} for it.
            </p>
            {row.unit === "friction" && (
              <p class="quiet">
                Once you use it, write it as <code>friction</code> under <code>[fit]</code> of the
                sheath file and make its job again.
              </p>
            )}
            <SureKey
              kind="brass"
              large
              words="Use it from now on"
              sure="Yes, use it"
              disabled={busy}
              act={() => void send(row.what, "accept")}
            />
          </section>
        ))}
      </div>
      {now.accepted.length > 0 && <h2 class="above">In use</h2>}
      <ul class="rows">
        {now.accepted.map((row) => (
          <li key={row.what}>
            <span>
              {row.title}: <strong>{figure(row, row.value)}</strong>
            </span>
            <SureKey
              words="Go back"
              sure="Yes, go back to the usual"
              name={`Go back from ${row.title}`}
              disabled={busy}
              act={() => void send(row.what, "forget")}
            />
          </li>
        ))}
      </ul>
      <Heats />
    </section>
  );
}

function figure(row: { readonly unit: TaughtUnit }, value: number): string {
  if (row.unit === "friction") return value.toFixed(2);
  return row.unit === "share" ? `${(100 * value).toFixed(1)} %` : `${value.toFixed(1)} s`;
}

/** The figure in use as a mark, the log's range as a bar. */
function Range({ row }: { row: Proposed }) {
  const ends = [row.low, row.high, row.now, row.value];
  const least = Math.min(...ends);
  const wide = Math.max(...ends) - least || 1;
  const at = (value: number): number => 8 + (184 * (value - least)) / wide;
  return (
    <svg class="range" viewBox="0 0 200 24" aria-hidden="true">
      <path class="range-line" d="M4 12h192" />
      <rect
        class="range-bar"
        x={at(row.low)}
        y="7"
        width={Math.max(2, at(row.high) - at(row.low))}
        height="10"
        rx="3"
      />
      <path class="range-value" d={`M${at(row.value)} 4v16`} />
      <path class="range-now" d={`M${at(row.now)} 2v20`} />
    </svg>
  );
}
