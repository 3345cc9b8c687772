/** The form an order is entered in. */

import { useState } from "preact/hooks";
import { call } from "../state/api";
import { useAsked, useDoing } from "./asked";
import { Labelled, Trouble, Waiting } from "./parts";
import type { OrderRow, ShopLeaf } from "./types";

interface Fields {
  readonly customer: string;
  readonly model: string;
  readonly knife: string;
  readonly hand: string;
  readonly sheet: string;
  readonly colour: string;
  readonly clip: string;
  readonly marks: string;
  readonly hold: string;
  readonly due: string;
  readonly quantity: string;
  readonly note: string;
}

/** The model that stands for a customer's own knife. */
const OWN = "own knife";

const EMPTY: Fields = {
  customer: "",
  model: "",
  knife: "",
  hand: "right",
  sheet: "",
  colour: "",
  clip: "",
  marks: "",
  hold: "",
  due: "",
  quantity: "1",
  note: "",
};

export function NewOrder({ entered }: { entered: (order: OrderRow) => void }) {
  const shop = useAsked<ShopLeaf>("shop");
  if (shop.value === null) return shop.problem ? <Trouble problem={shop.problem} /> : <Waiting />;
  return <Form shop={shop.value} entered={entered} />;
}

function Form({ shop, entered }: { shop: ShopLeaf; entered: (order: OrderRow) => void }) {
  const { busy, problem, run } = useDoing();
  const [fields, setFields] = useState<Fields>({
    ...EMPTY,
    model: shop.models[0]?.name ?? OWN,
    sheet: shop.sheets.at(-1) ?? "",
    colour: shop.colours[0] ?? "black",
  });
  const bind = (name: keyof Fields) => ({
    value: fields[name],
    "aria-invalid": problem?.field === name,
    onInput: (event: { currentTarget: { value: string } }): void =>
      setFields({ ...fields, [name]: event.currentTarget.value }),
  });
  const enter = async (event: Event): Promise<void> => {
    event.preventDefault();
    const order = await run(() => call<OrderRow>("POST", "shop/orders", asSent(fields)));
    if (order) entered(order);
  };
  const one = shop.models.find((each) => each.name === fields.model);
  return (
    <form class="leaf-form" onSubmit={(event) => void enter(event)}>
      <h1>Enter an order</h1>
      <Labelled words="Customer, a reference you choose and nothing personal">
        <input required maxLength={60} {...bind("customer")} />
      </Labelled>
      <Labelled words="Model">
        <select {...bind("model")}>
          {shop.models.map((each) => (
            <option key={each.name} value={each.name}>
              {each.title}
            </option>
          ))}
          <option value={OWN}>the customer’s own knife</option>
        </select>
      </Labelled>
      {fields.model === OWN && (
        <Labelled words="Which knife, in a few words">
          <input required maxLength={200} {...bind("knife")} />
        </Labelled>
      )}
      <Labelled words="Pieces">
        <input required type="number" min={1} max={500} step={1} {...bind("quantity")} />
      </Labelled>
      <Labelled words="Due">
        <input required type="date" {...bind("due")} />
      </Labelled>
      <Labelled words="Hand">
        <select {...bind("hand")}>
          <option value="right">right</option>
          <option value="left">left</option>
        </select>
      </Labelled>
      <Labelled words="Sheet">
        <select {...bind("sheet")}>
          {shop.sheets.map((name) => (
            <option key={name}>{name}</option>
          ))}
        </select>
      </Labelled>
      <Labelled words="Colour">
        <input required list="colours" maxLength={60} {...bind("colour")} />
        <datalist id="colours">
          {shop.colours.map((name) => (
            <option key={name} value={name} />
          ))}
        </datalist>
      </Labelled>
      <Labelled words="Clip">
        <select {...bind("clip")}>
          <option value="">none</option>
          {shop.clips.map((name) => (
            <option key={name}>{name}</option>
          ))}
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
        <Trouble problem={problem} />
        <button type="submit" class="brass large" disabled={busy}>
          {busy ? "Entering …" : "Enter it"}
        </button>
      </div>
    </form>
  );
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
