/** The fields of a record, in groups one opens; which there are, the server says. */

import { useState } from "preact/hooks";
import type { RecordStore } from "../state/record";
import { valueAt } from "../state/tables";
import type { Kept, Value } from "../state/types";
import { ChoiceField, FlagField, NumberField, TextField } from "./fields";
import "./form.css";

export interface Field {
  readonly path: string;
  readonly label: string;
  readonly unit: string | null;
  readonly kind: "length" | "number" | "choice" | "text" | "flag";
  readonly least?: number | null;
  readonly most?: number | null;
  readonly step?: number | null;
  readonly choices?: readonly (string | { readonly value: string; readonly label: string })[] | null;
  readonly help?: string | null;
  readonly group: string;
  readonly default?: Value;
}

interface Props {
  readonly fields: readonly Field[];
  readonly store: RecordStore<Kept>;
  /** Which groups lie open at first. */
  readonly open?: readonly string[];
}

export function Form({ fields, store, open = [] }: Props) {
  const groups = [...new Set(fields.map((field) => field.group))];
  return (
    <div class="form">
      {groups.map((group) => (
        <Group
          key={group}
          name={group}
          fields={fields.filter((field) => field.group === group)}
          store={store}
          open={open.includes(group)}
        />
      ))}
    </div>
  );
}

interface GroupProps {
  readonly name: string;
  readonly fields: readonly Field[];
  readonly store: RecordStore<Kept>;
  readonly open: boolean;
}

function Group({ name, fields, store, open }: GroupProps) {
  const [shown, setShown] = useState(open);
  return (
    <details
      class="form-group"
      open={shown}
      onToggle={(event) => setShown(event.currentTarget.open)}
    >
      <summary>{name}</summary>
      {shown && (
        <div class="form-fields">
          {fields.map((field) => (
            <OneField key={field.path} field={field} store={store} />
          ))}
        </div>
      )}
    </details>
  );
}

function OneField({ field, store }: { field: Field; store: RecordStore<Kept> }) {
  const value = valueAt(store.tables.value, field.path);
  const change = (next: Value | undefined): void => {
    store.change(field.path, next, `field ${field.path}`);
  };
  const shared = { field, value, onEnd: () => store.lift() };
  switch (field.kind) {
    case "length":
    case "number":
      return <NumberField {...shared} onChange={change} />;
    case "choice":
      return <ChoiceField {...shared} onChange={change} />;
    case "flag":
      return <FlagField {...shared} onChange={change} />;
    case "text":
      return <TextField {...shared} onChange={change} />;
  }
}
