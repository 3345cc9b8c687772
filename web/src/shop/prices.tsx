/** Prices: what a piece takes, what it costs, what to ask for it. */

import { useState } from "preact/hooks";
import { call } from "../state/api";
import { duration } from "../state/units";
import { useAsked, useDoing } from "./asked";
import { money } from "./clock";
import { Labelled, Readings, Trouble, Waiting } from "./parts";
import { ModelField, PieceFields, type PieceWishes, usualPiece, useTyped } from "./piece_fields";
import type { QuoteLeaf, ShopLeaf } from "./types";

export function Prices() {
  const shop = useAsked<ShopLeaf>("shop");
  if (shop.value === null) return shop.problem ? <Trouble problem={shop.problem} /> : <Waiting />;
  if (shop.value.models.length === 0) {
    return (
      <section class="empty">
        <h1>Prices</h1>
        <p>
          A price is for a model. Write a <code>[models.NAME]</code> table into the shop file for each
          sheath you have tools for.
        </p>
      </section>
    );
  }
  return <QuoteForm shop={shop.value} />;
}

interface Fields extends PieceWishes {
  readonly tools: string;
}

function QuoteForm({ shop }: { shop: ShopLeaf }) {
  const { busy, problem, run } = useDoing();
  const [quote, setQuote] = useState<QuoteLeaf | null>(null);
  const { fields, bind } = useTyped<Fields>({ ...usualPiece(shop), tools: "" }, problem, () =>
    setQuote(null),
  );
  const ask = async (event: Event): Promise<void> => {
    event.preventDefault();
    const sent = {
      ...fields,
      clip: fields.clip || null,
      quantity: Number(fields.quantity),
      tools: fields.tools === "" ? null : Number(fields.tools),
    };
    const found = await run(() => call<QuoteLeaf>("POST", "shop/quote", sent));
    if (found) setQuote(found);
  };
  return (
    <div class="beside">
      <form class="leaf-form" onSubmit={(event) => void ask(event)}>
        <h1>What to ask for it</h1>
        <ModelField shop={shop} bind={bind} own={false} />
        <PieceFields shop={shop} bind={bind} most={100000} />
        <Labelled words="Mould and fixture cost, if they are new" unit={shop.currency}>
          <input type="number" min={0} step="any" {...bind("tools")} />
        </Labelled>
        <div class="form-end">
          <Trouble problem={problem} />
          <button type="submit" class="brass large" disabled={busy}>
            Work it out
          </button>
        </div>
      </form>
      {quote && <Quote quote={quote} />}
    </div>
  );
}

function Quote({ quote }: { quote: QuoteLeaf }) {
  const most = Math.max(...quote.parts.map((part) => part.cost), 0.01);
  return (
    <section class="card" aria-live="polite">
      <p class="price">{money(quote.price, quote.currency)}</p>
      <p class="quiet">for one; {money(quote.total, quote.currency)} for {quote.quantity}</p>
      <ul class="parts">
        {quote.parts.map((part) => (
          <li key={part.title}>
            <span>{part.title}</span>
            <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
              <rect fill="currentColor" width={(100 * part.cost) / most} height="8" />
            </svg>
            <span>{part.cost.toFixed(2)}</span>
          </li>
        ))}
      </ul>
      <Readings
        rows={[
          ["Cost with scrap and overhead", money(quote.cost, quote.currency)],
          ["Share that is scrapped", `${(100 * quote.scrap).toFixed(1)} %`],
          ["Hands", duration(quote.hand_seconds)],
          ["Router", duration(quote.router_seconds)],
          ...(quote.pays_from === null
            ? []
            : [["The tools are paid for from", `${quote.pays_from} pieces on`] as const]),
        ]}
      />
      {quote.unpriced.map((title) => (
        <p class="trouble" key={title}>
          No price is known for {title}: it counts as nothing.
        </p>
      ))}
    </section>
  );
}
