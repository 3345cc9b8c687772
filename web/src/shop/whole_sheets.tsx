/** Whole sheets or rolls: how to cut from them the blanks that waiting pieces lack. */

import { useState } from "preact/hooks";
import { call } from "../state/api";
import { unit } from "../state/units";
import { useAsked, useDoing } from "./asked";
import { SureKey, Trouble, Waiting } from "./parts";
import type { CutRow, StockLeaf } from "./types";

interface Props {
  readonly put: (leaf: StockLeaf) => void;
}

export function WholeSheets({ put }: Props) {
  const [open, setOpen] = useState(false);
  return (
    <section>
      <div class="title-row above">
        <h2>Whole sheets</h2>
        <button type="button" aria-expanded={open} onClick={() => setOpen(!open)}>
          How to cut them
        </button>
      </div>
      {open && <Cuts put={put} />}
    </section>
  );
}

function Cuts({ put }: Props) {
  const cuts = useAsked<readonly CutRow[]>("shop/stock/cuts");
  const { busy, problem, run } = useDoing();
  const rows = cuts.value;
  if (rows === null) return cuts.problem ? <Trouble problem={cuts.problem} /> : <Waiting />;
  const cut = async (): Promise<void> => {
    const leaf = await run(() => call<StockLeaf>("POST", "shop/stock/cuts", { cuts: rows }));
    if (leaf) put(leaf);
    cuts.again();
  };
  if (rows.length === 0) return <p>No blank is missing.</p>;
  return (
    <>
      <p class="caution">
        Sheet edges and off-cuts are sharp, and shears and saws more so: gloves for carrying, none
        near a turning blade; eyes protected.
      </p>
      {rows.map((row, number) => (
        <OneSheet key={row.whole} row={row} number={number} />
      ))}
      <Trouble problem={problem} />
      {rows.every((row) => row.buy === 0) && (
        <SureKey
          kind="brass"
          large
          words="They are cut"
          sure="Yes: sheets off the shelf, blanks onto it"
          disabled={busy}
          act={() => void cut()}
        />
      )}
    </>
  );
}

function OneSheet({ row, number }: { row: CutRow; number: number }) {
  return (
    <section class="card">
      <h3>
        {row.used} of {row.whole}
      </h3>
      <p>
        For {row.blanks.map((each) => `${each.count} of ${each.title}`).join(", ")}.{" "}
        {row.on_hand} on hand; {(100 * row.share).toFixed(0)} % of the sheet becomes blanks;{" "}
        {row.used === row.bound ? "no plan takes fewer" : `no plan takes fewer than ${row.bound}`}.
      </p>
      {row.buy > 0 && <p class="trouble">First buy {row.buy} of it.</p>}
      <div class="cut-ways">
        {row.ways.map((times, way) => (
          <figure key={way}>
            <img
              src={`/api/shop/stock/cuts/${number}/${way}.svg?unit=${unit.value}`}
              alt={`How it is cut, ${times} times`}
            />
            <figcaption>{times === 1 ? "one so" : `${times} so`}</figcaption>
          </figure>
        ))}
      </div>
    </section>
  );
}
