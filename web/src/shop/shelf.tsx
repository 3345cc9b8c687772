/** The shelf: what is on hand, counted, filled up, and what to buy. */

import { useState } from "preact/hooks";
import { call } from "../state/api";
import { useAsked, useDoing } from "./asked";
import { Cutters } from "./cutters";
import { Labelled, Trouble, Waiting } from "./parts";
import { ToBuy } from "./to_buy";
import { WholeSheets } from "./whole_sheets";
import type { ShelfRow, StockLeaf } from "./types";

const KINDS = [
  ["sheet", "Sheet, in blanks"],
  ["eyelet", "Eyelets"],
  ["clip", "Clips"],
  ["consumable", "Used up"],
] as const;

/** What the name of a new good is. */
const NAMED = {
  sheet: "Name in the catalogue and its blank, as acrylic-pvc-2.0 300x300",
  eyelet: "Name in the catalogue",
  clip: "Name in the catalogue",
  consumable: "Name, as a model uses it in the shop file",
} as const;

export function Shelf() {
  const stock = useAsked<StockLeaf>("shop/stock");
  const [open, setOpen] = useState<string | null>(null);
  const now = stock.value;
  if (now === null) return stock.problem ? <Trouble problem={stock.problem} /> : <Waiting />;
  const put = (leaf: StockLeaf): void => {
    stock.put(leaf);
    setOpen(null);
  };
  return (
    <section>
      <div class="title-row">
        <h1>On the shelf</h1>
        <button type="button" onClick={() => setOpen(open === "new" ? null : "new")}>
          Keep another good
        </button>
        <a class="key" target="_blank" href="/api/shop/papers/reorder.pdf">
          Print what to buy
        </a>
      </div>
      {open === "new" && <CountForm row={null} currency={now.currency} put={put} />}
      <ToBuy rows={now.buy} currency={now.currency} />
      {KINDS.map(([kind, words]) => {
        const rows = now.shelves.filter((each) => each.kind === kind);
        return rows.length === 0 ? null : (
          <section key={kind}>
            <h2 class="above">{words}</h2>
            <ul class="goods">
              {rows.map((row) => (
                <li key={row.title}>
                  <button
                    type="button"
                    aria-expanded={open === row.title}
                    onClick={() => setOpen(open === row.title ? null : row.title)}
                  >
                    <span>{row.title}</span>
                    <Gauge row={row} />
                    <strong class={row.low ? "is-stop" : ""}>{row.on_hand}</strong>
                  </button>
                  {open === row.title && <CountForm row={row} currency={now.currency} put={put} />}
                </li>
              ))}
            </ul>
          </section>
        );
      })}
      {now.shelves.length === 0 && <p>Nothing is kept yet.</p>}
      <WholeSheets put={put} />
      <Cutters />
    </section>
  );
}

/** How much there is; the mark is where more should be bought. */
function Gauge({ row }: { row: ShelfRow }) {
  const full = Math.max(row.on_hand, row.reorder_at * 3, 1);
  const [filled, mark] = [row.on_hand / full, row.reorder_at / full].map((share) => 120 * share);
  return (
    <svg
      class={row.low ? "stock-gauge is-stop" : "stock-gauge is-good"}
      viewBox="0 0 120 16"
      role="img"
      aria-label={`${row.on_hand} on hand, more is bought at ${row.reorder_at}`}
    >
      <rect class="stock-gauge-bed" x="0" y="4" width="120" height="8" rx="2" />
      <rect fill="currentColor" x="0" y="4" width={filled} height="8" rx="2" />
      <path class="stock-gauge-mark" d={`M${mark} 0v16`} />
    </svg>
  );
}

interface CountProps {
  readonly row: ShelfRow | null;
  readonly currency: string;
  readonly put: (leaf: StockLeaf) => void;
}

const NEW = { kind: "sheet", name: "", colour: "", on_hand: 0, reorder_at: 0, pack: 1, pack_price: 0 };

function CountForm({ row, currency, put }: CountProps) {
  const { busy, problem, run } = useDoing();
  const [fields, setFields] = useState<Record<string, string>>(() =>
    Object.fromEntries(Object.entries(row ?? NEW).map(([key, value]) => [key, String(value)])),
  );
  const [packs, setPacks] = useState("1");
  const bind = (name: string) => ({
    value: fields[name] ?? "",
    onInput: (event: { currentTarget: { value: string } }): void =>
      setFields({ ...fields, [name]: event.currentTarget.value }),
  });
  const colour = fields.kind === "sheet" ? fields.colour : "";
  const key = { kind: fields.kind, name: fields.name, colour };
  const send = async (act: () => Promise<StockLeaf>): Promise<void> => {
    const leaf = await run(act);
    if (leaf) put(leaf);
  };
  const count = (event: Event): void => {
    event.preventDefault();
    const figures = ["on_hand", "reorder_at", "pack", "pack_price"].map(
      (name) => [name, Number(fields[name])] as const,
    );
    void send(() => call("PUT", "shop/stock", { ...key, ...Object.fromEntries(figures) }));
  };
  const receive = (): void =>
    void send(() => call("POST", "shop/stock/receive", { ...key, packs: Number(packs) }));
  return (
    <form class="leaf-form" onSubmit={count}>
      {row === null && (
        <>
          <Labelled words="Kind">
            <select {...bind("kind")}>
              {KINDS.map(([kind, words]) => (
                <option key={kind} value={kind}>
                  {words}
                </option>
              ))}
            </select>
          </Labelled>
          <Labelled words={NAMED[fields.kind as keyof typeof NAMED] ?? NAMED.eyelet}>
            <input required maxLength={60} {...bind("name")} />
          </Labelled>
          {fields.kind === "sheet" && (
            <Labelled words="Colour">
              <input required {...bind("colour")} />
            </Labelled>
          )}
        </>
      )}
      <Labelled words="Counted on the shelf">
        <input required type="number" min={0} step={1} {...bind("on_hand")} />
      </Labelled>
      <Labelled words="Buy when so many are left">
        <input required type="number" min={0} step={1} {...bind("reorder_at")} />
      </Labelled>
      <Labelled words="In one package">
        <input required type="number" min={1} step={1} {...bind("pack")} />
      </Labelled>
      <Labelled words="Price of a package" unit={currency}>
        <input required type="number" min={0} step={0.01} {...bind("pack_price")} />
      </Labelled>
      <div class="form-end">
        <Trouble problem={problem} />
        <button type="submit" class="brass" disabled={busy}>
          Keep this count
        </button>
        {row && (
          <span class="came-in">
            <input
              aria-label="Packages that came in"
              type="number"
              min={1}
              step={1}
              value={packs}
              onInput={(event) => setPacks(event.currentTarget.value)}
            />
            <button type="button" disabled={busy} onClick={receive}>
              packages of {row.pack} came in
            </button>
          </span>
        )}
      </div>
    </form>
  );
}
