/** One order: what was ordered, where its pieces are, where to send it. */

import { useState } from "preact/hooks";
import { hrefTo } from "../shell/route";
import { call } from "../state/api";
import { useAsked, useDoing } from "./asked";
import { dayInWords } from "./clock";
import { Labelled, Readings, SureKey, Trouble, Waiting } from "./parts";
import type { OrderRow } from "./types";

export function OrderLeaf({ reference }: { reference: string }) {
  const order = useAsked<OrderRow>(`shop/orders/${encodeURIComponent(reference)}`);
  const { busy, problem, run } = useDoing();
  const now = order.value;
  if (now === null) return order.problem ? <Trouble problem={order.problem} /> : <Waiting />;
  const cancel = async (): Promise<void> => {
    const left = await run(() => call<OrderRow>("POST", `shop/orders/${now.reference}/cancel`));
    if (left) order.put(left);
  };
  const packed = now.pieces.some(({ state }) => state === "packed" || state === "shipped");
  return (
    <section class="leaf">
      <a href={hrefTo("day", "orders")}>All orders</a>
      <h1>Order {now.reference}</h1>
      <p class={now.late ? "is-stop" : ""}>
        {now.state}, due {dayInWords(now.due)}
        {now.late ? ": late" : ""}
      </p>
      <Readings
        rows={[
          ["What", now.model ?? `own knife: ${now.knife}`],
          ["Pieces", String(now.quantity)],
          ["Customer", now.customer],
          ["Sheet", `${now.sheet}, ${now.colour}`],
          ["Hand", now.hand],
          ["Clip", now.clip ?? "none"],
          ["Hold", now.hold === null ? "as the model has it" : `${now.hold} N`],
          ["Marks", now.marks || "none"],
          ["Note", now.note || "none"],
        ]}
      />
      <h2>Its pieces</h2>
      <ul class="piece-rows">
        {now.pieces.map((piece) => (
          <li key={piece.serial}>
            <a class="key" href={hrefTo("day", "piece", piece.serial)}>
              <strong>{piece.serial}</strong> {piece.state}
            </a>
          </li>
        ))}
      </ul>
      <ShippingNote customer={now.customer} />
      <Trouble problem={problem} />
      <div class="keys">
        {packed && (
          <a class="key" target="_blank" href={`/api/shop/papers/slip.pdf?of=${now.reference}`}>
            Packing slip
          </a>
        )}
        {now.state === "open" && (
          <SureKey
            kind="stop"
            words="Cancel this order"
            sure="Yes, cancel what has not shipped"
            disabled={busy}
            act={() => void cancel()}
          />
        )}
      </div>
    </section>
  );
}

interface Note {
  readonly note: string | null;
}

function ShippingNote({ customer }: { customer: string }) {
  const path = `shop/customers/${encodeURIComponent(customer)}/note`;
  const kept = useAsked<Note>(path);
  const { busy, problem, run } = useDoing();
  const [words, setWords] = useState<string | null>(null);
  const keep = async (note: string | null): Promise<void> => {
    const answer = await run(() => call<Note>("PUT", path, { note }));
    if (answer === null) return;
    kept.put(answer);
    setWords(null);
  };
  const stands = kept.value?.note ?? "";
  return (
    <details class="shipping">
      <summary>Where {customer}’s parcels go</summary>
      <Labelled words="Shipping note: the only personal thing kept, and it can be erased">
        <textarea
          rows={4}
          maxLength={1000}
          value={words ?? stands}
          onInput={(event) => setWords(event.currentTarget.value)}
        />
      </Labelled>
      <Trouble problem={problem ?? kept.problem} />
      <div class="keys">
        <button
          type="button"
          disabled={busy || words === null || words.trim() === ""}
          onClick={() => void keep(words)}
        >
          Keep it
        </button>
        {stands !== "" && (
          <SureKey
            kind="stop"
            words="Erase it"
            sure="Yes, erase it"
            disabled={busy}
            act={() => void keep(null)}
          />
        )}
      </div>
    </details>
  );
}
