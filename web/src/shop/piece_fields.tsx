/** What every piece is made of, typed the same way wherever it is asked for. */

import { useState } from "preact/hooks";
import type { Problem } from "../state/types";
import { Labelled } from "./parts";
import type { ShopLeaf } from "./types";

/** The model that stands for a customer's own knife. */
export const OWN = "own knife";

/** As typed; empty where nothing was. */
export interface PieceWishes {
  readonly model: string;
  readonly sheet: string;
  readonly colour: string;
  readonly clip: string;
  readonly quantity: string;
}

export interface Bound {
  readonly value: string;
  readonly "aria-invalid": boolean;
  readonly onInput: (event: { currentTarget: { value: string } }) => void;
}

export interface Typed<Fields> {
  readonly fields: Fields;
  /** What a field of that name is given. */
  readonly bind: (name: keyof Fields) => Bound;
}

/** The fields of a form, by name; `changed` is told before each change. */
export function useTyped<Fields extends object>(
  first: Fields,
  problem: Problem | null,
  changed: () => void = () => undefined,
): Typed<Fields> {
  const [fields, setFields] = useState<Fields>(first);
  const bind = (name: keyof Fields): Bound => ({
    value: String(fields[name]),
    "aria-invalid": problem?.field === name,
    onInput: (event) => {
      changed();
      setFields({ ...fields, [name]: event.currentTarget.value });
    },
  });
  return { fields, bind };
}

/** What a form begins with: the shop's first model, and a sheet and colour that are kept. */
export function usualPiece(shop: ShopLeaf): PieceWishes {
  return {
    model: shop.models[0]?.name ?? OWN,
    sheet: shop.sheets.at(-1) ?? "",
    colour: shop.colours[0] ?? "black",
    clip: "",
    quantity: "1",
  };
}

interface FieldsProps {
  readonly shop: ShopLeaf;
  readonly bind: (name: keyof PieceWishes) => Bound;
  readonly most: number;
}

export function ModelField({ shop, bind, own }: Omit<FieldsProps, "most"> & { own: boolean }) {
  return (
    <Labelled words="Model">
      <select {...bind("model")}>
        {shop.models.map((each) => (
          <option key={each.name} value={each.name}>
            {each.title}
          </option>
        ))}
        {own && <option value={OWN}>the customer’s own knife</option>}
      </select>
    </Labelled>
  );
}

export function PieceFields({ shop, bind, most }: FieldsProps) {
  return (
    <>
      <Labelled words="Pieces">
        <input required type="number" min={1} max={most} step={1} {...bind("quantity")} />
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
    </>
  );
}
