/** Papers: what goes with a batch, a parcel and on the wall, ready to print. */

import { useState } from "preact/hooks";
import { useAsked } from "./asked";
import { Labelled, Trouble } from "./parts";
import type { BatchList } from "./types";

const OF_BATCH = [
  ["batch", "Batch sheet", "tools, blanks, boxes to tick"],
  ["travellers", "Travellers", "one leaf goes with each piece"],
  ["labels", "Labels", "serial numbers with codes to scan"],
] as const;

const OF_SHOP = [
  ["care", "Care and caution", "for the customer, into each parcel"],
  ["safety", "Safety cards", "one for the wall of each station"],
  ["reorder", "What to buy", "goods at their reorder point"],
] as const;

export function Papers() {
  const work = useAsked<BatchList>("shop/batches");
  const [size, setSize] = useState("a4");
  const [order, setOrder] = useState("");
  const link = (kind: string, of?: string): string =>
    `/api/shop/papers/${kind}.pdf?${new URLSearchParams(of ? { paper: size, of } : { paper: size })}`;
  return (
    <section>
      <div class="title-row">
        <h1>Papers</h1>
        <fieldset class="pair">
          <legend class="unseen">Paper size</legend>
          {[
            ["a4", "A4"],
            ["letter", "Letter"],
          ].map(([key, words]) => (
            <button
              type="button"
              key={key}
              aria-pressed={size === key}
              onClick={() => setSize(key as string)}
            >
              {words}
            </button>
          ))}
        </fieldset>
      </div>
      <Trouble problem={work.problem} />
      <div class="cards">
        {OF_SHOP.map(([kind, title, words]) => (
          <PaperKey key={kind} href={link(kind)} title={title} words={words} />
        ))}
      </div>
      <h2 class="above">A packing slip</h2>
      <div class="narrow">
        <Labelled words="Of order">
          <input
            value={order}
            placeholder="2026-0042"
            onInput={(event) => setOrder(event.currentTarget.value)}
          />
        </Labelled>
        {order.trim() && (
          <a class="key" target="_blank" href={link("slip", order.trim())}>
            Packing slip of {order.trim()}
          </a>
        )}
      </div>
      {work.value?.batches.map((batch) => (
        <section key={batch.batch}>
          <h2 class="above">
            {batch.batch} · {batch.title}, {batch.colour}
          </h2>
          <div class="cards">
            {OF_BATCH.map(([kind, title, words]) => (
              <PaperKey key={kind} href={link(kind, batch.batch)} title={title} words={words} />
            ))}
          </div>
        </section>
      ))}
      <p class="quiet">
        Local codes, a machine’s manual and a material’s data sheet go before what the cards say.
      </p>
    </section>
  );
}

function PaperKey({ href, title, words }: { href: string; title: string; words: string }) {
  return (
    <a class="key paper-key" target="_blank" href={href}>
      <strong>{title}</strong>
      <span>{words}</span>
    </a>
  );
}
