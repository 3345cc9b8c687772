/** The form an order is entered in; before that, one may look at what it would displace. */

import { useState } from "preact/hooks";
import { hrefTo } from "../shell/route";
import { call } from "../state/api";
import { putAway, untilOver } from "../state/works";
import { useAsked, useDoing } from "./asked";
import { Labelled, Trouble, Waiting } from "./parts";
import { ModelField, OWN, PieceFields, type PieceWishes, usualPiece, useTyped } from "./piece_fields";
import { RushCard } from "./rush_card";
import type { OrderRow, RushLeaf, ShopLeaf } from "./types";

interface Fields extends PieceWishes {
  readonly customer: string;
  readonly knife: string;
  readonly hand: string;
  readonly marks: string;
  readonly hold: string;
  readonly due: string;
  readonly note: string;
}

const EMPTY = { customer: "", knife: "", hand: "right", marks: "", hold: "", due: "", note: "" };

/** What a work is asked for whose customer is not known yet; nothing of it is kept. */
const NOBODY = "someone";

export function NewOrder({ entered }: { entered: (order: OrderRow) => void }) {
  const shop = useAsked<ShopLeaf>("shop");
  if (shop.value === null) return shop.problem ? <Trouble problem={shop.problem} /> : <Waiting />;
  return <Form shop={shop.value} entered={entered} />;
}

function Form({ shop, entered }: { shop: ShopLeaf; entered: (order: OrderRow) => void }) {
  const entering = useDoing();
  const looking = useDoing();
  const [rush, setRush] = useState<RushLeaf | null>(null);
  // What was found is true only of what was asked.
  const { fields, bind } = useTyped<Fields>(
    { ...EMPTY, ...usualPiece(shop) },
    entering.problem ?? looking.problem,
    () => setRush(null),
  );
  const enter = async (event: Event): Promise<void> => {
    event.preventDefault();
    const order = await entering.run(() => call<OrderRow>("POST", "shop/orders", asSent(fields)));
    if (order) entered(order);
  };
  const look = async (): Promise<void> => {
    setRush(null);
    const asked = { ...asSent(fields), customer: fields.customer.trim() || NOBODY };
    setRush(await looking.run(() => whatItDisplaces(asked)));
  };
  const own = fields.model === OWN;
  const one = shop.models.find((each) => each.name === fields.model);
  return (
    <div class="beside">
      <form class="leaf-form" id="order" onSubmit={(event) => void enter(event)}>
        <a href={hrefTo("day", "orders")}>All orders</a>
        <h1>Enter an order</h1>
        <Labelled words="Customer, a reference you choose">
          <input required maxLength={60} placeholder="nothing personal" {...bind("customer")} />
        </Labelled>
        <ModelField shop={shop} bind={bind} own />
        {own && (
          <Labelled words="Which knife, in a few words">
            <input required maxLength={200} {...bind("knife")} />
          </Labelled>
        )}
        <Labelled words="Due">
          <input required type="date" {...bind("due")} />
        </Labelled>
        <PieceFields shop={shop} bind={bind} most={500} />
        <Labelled words="Hand">
          <select {...bind("hand")}>
            <option value="right">right</option>
            <option value="left">left</option>
          </select>
        </Labelled>
        <Labelled words="Hold, if another than usual" unit="N">
          <input
            type="number"
            min={0.1}
            max={500}
            step="any"
            placeholder={one?.hold ? `${one.hold}` : "as it comes"}
            {...bind("hold")}
          />
        </Labelled>
        <Labelled words="Marks">
          <input maxLength={200} {...bind("marks")} />
        </Labelled>
        <Labelled words="Note, for your own use">
          <input maxLength={200} {...bind("note")} />
        </Labelled>
        <div class="form-end">
          <Trouble problem={entering.problem ?? looking.problem} />
          <button type="submit" class="brass large" disabled={entering.busy}>
            {entering.busy ? "Entering …" : "Enter it"}
          </button>
          {!own && (
            <button
              type="button"
              class="large"
              disabled={looking.busy || fields.due === ""}
              onClick={() => void look()}
            >
              {looking.busy ? "Looking, about 15 s …" : "What would it displace?"}
            </button>
          )}
        </div>
      </form>
      {rush && <RushCard rush={rush} customer={fields.customer.trim()} />}
    </div>
  );
}

/** Plans the shop with it and without it; null where that was stopped. */
async function whatItDisplaces(asked: Record<string, unknown>): Promise<RushLeaf | null> {
  const { work } = await call<{ work: string }>("POST", "shop/rush", asked);
  const over = await untilOver(work);
  // What went wrong with a work is told at the head of every station.
  if (over.state !== "done") return null;
  putAway(work);
  return call<RushLeaf>("GET", `shop/rush/${work}`);
}

function asSent(fields: Fields): Record<string, unknown> {
  const own = fields.model === OWN;
  return {
    ...fields,
    model: own ? null : fields.model,
    knife: own ? fields.knife : null,
    clip: fields.clip || null,
    hold: fields.hold === "" ? null : Number(fields.hold),
    quantity: Number(fields.quantity),
  };
}
