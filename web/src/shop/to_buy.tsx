import { money } from "./clock";
import type { PurchaseRow } from "./types";

/** What to buy, in packages; nothing where nothing is short. */
export function ToBuy({ rows, currency }: { rows: readonly PurchaseRow[]; currency: string }) {
  if (rows.length === 0) return null;
  const known = rows.reduce((sum, row) => sum + (row.price ?? 0), 0);
  return (
    <section class="to-buy">
      <h2>To buy</h2>
      <ul class="rows">
        {rows.map((row) => (
          <li key={row.title}>
            <span>
              {row.packs} × {row.pack} of {row.title}
            </span>
            <span>{row.price === null ? "price not known" : money(row.price, currency)}</span>
          </li>
        ))}
      </ul>
      <p>{money(known, currency)} at known prices.</p>
    </section>
  );
}
