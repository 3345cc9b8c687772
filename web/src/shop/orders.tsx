/** Orders: listed by their due day, entered, followed, cancelled. */

import { useState } from "preact/hooks";
import { goTo, hrefTo } from "../shell/route";
import { useAsked } from "./asked";
import { dayInWords } from "./clock";
import { NewOrder } from "./new_order";
import { OrderLeaf } from "./order_leaf";
import { FromTable } from "./order_table";
import type { DrawerProps } from "./page";
import { Labelled, Trouble, Waiting } from "./parts";
import type { OrderPage, OrderRow, ShopLeaf } from "./types";

const STATES = ["open", "shipped", "cancelled", "all"] as const;

export function Orders({ rest }: DrawerProps) {
  const [first] = rest;
  if (first === "new") return <NewOrder entered={(order) => goTo("day", "orders", order.reference)} />;
  if (first === "table") return <FromTable />;
  return first ? <OrderLeaf reference={first} /> : <OrderList />;
}

function OrderList() {
  const [state, setState] = useState<string>("open");
  const [model, setModel] = useState("");
  const [customer, setCustomer] = useState("");
  const [page, setPage] = useState(1);
  const shop = useAsked<ShopLeaf>("shop").value;
  const asked = new URLSearchParams({ state, page: String(page) });
  if (model) asked.set("model", model);
  if (customer.trim()) asked.set("customer", customer.trim());
  const { value, problem } = useAsked<OrderPage>(`shop/orders?${asked}`);
  const narrow = (change: () => void): void => {
    change();
    setPage(1);
  };
  return (
    <section>
      <div class="title-row">
        <h1>Orders</h1>
        <a class="key brass large" href={hrefTo("day", "orders", "new")}>
          Enter an order
        </a>
        <a class="key" href={hrefTo("day", "orders", "table")}>
          From a table
        </a>
        <a class="key" href={`/api/shop/orders.csv?state=${state}`} download>
          Take as a table
        </a>
      </div>
      <div class="narrow">
        <fieldset class="pair">
          <legend class="unseen">Which orders</legend>
          {STATES.map((word) => (
            <button
              type="button"
              key={word}
              aria-pressed={state === word}
              onClick={() => narrow(() => setState(word))}
            >
              {word[0]?.toUpperCase() + word.slice(1)}
            </button>
          ))}
        </fieldset>
        <Labelled words="Model">
          <select value={model} onChange={(event) => narrow(() => setModel(event.currentTarget.value))}>
            <option value="">any</option>
            {shop?.models.map((each) => (
              <option key={each.name} value={each.name}>
                {each.title}
              </option>
            ))}
          </select>
        </Labelled>
        <Labelled words="Customer">
          <input
            value={customer}
            onChange={(event) => narrow(() => setCustomer(event.currentTarget.value))}
          />
        </Labelled>
      </div>
      <Trouble problem={problem} />
      {value === null ? problem === null && <Waiting /> : <Rows page={value} go={setPage} />}
    </section>
  );
}

function Rows({ page, go }: { page: OrderPage; go: (page: number) => void }) {
  if (page.count === 0) return <p>There are no such orders.</p>;
  return (
    <>
      <ul class="order-rows">
        {page.orders.map((order) => (
          <li key={order.reference}>
            <a href={hrefTo("day", "orders", order.reference)}>
              <span class="order-ref">{order.reference}</span>
              <span class="order-what">
                <strong>{order.model ?? `own knife: ${order.knife}`}</strong>
                <span>
                  {order.colour}, {order.hand} hand, for {order.customer}
                </span>
              </span>
              <span class={order.late ? "order-due is-late" : "order-due"}>
                {order.late ? "late, " : ""}
                {dayInWords(order.due)}
              </span>
              <Progress order={order} />
            </a>
          </li>
        ))}
      </ul>
      <nav class="keys" aria-label="Pages">
        <button type="button" disabled={page.page <= 1} onClick={() => go(page.page - 1)}>
          Sooner due
        </button>
        <span>
          Page {page.page} of {page.pages}, {page.count} orders
        </span>
        <button type="button" disabled={page.page >= page.pages} onClick={() => go(page.page + 1)}>
          Later due
        </button>
      </nav>
    </>
  );
}

/** One square for each piece: filled when it is shipped, half when it is in work. */
export function Progress({ order }: { order: OrderRow }) {
  const shown = order.pieces.slice(0, 10);
  return (
    <span
      class="squares"
      role="img"
      aria-label={`${order.shipped} of ${order.quantity} shipped`}
      title={`${order.shipped} of ${order.quantity} shipped`}
    >
      {shown.map((piece) => (
        <i key={piece.serial} class={`at-${stageOf(piece.state)}`} />
      ))}
      {order.pieces.length > shown.length && <em>+{order.pieces.length - shown.length}</em>}
    </span>
  );
}

function stageOf(state: string): "waiting" | "work" | "done" | "gone" {
  if (state === "waiting") return "waiting";
  if (state === "shipped") return "done";
  return state === "scrapped" || state === "cancelled" ? "gone" : "work";
}
