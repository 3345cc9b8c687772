/** The fields of a record, in groups one opens; which there are, the server says. */

import { useState } from "preact/hooks";
import type { RecordStore } from "../state/record";
import { valueAt } from "../state/tables";
import type { Kept, Value } from "../state/types";
import { ChoiceField, FlagField, NumberField, NumbersField, TextField } from "./fields";
import { beginnings, type Field, groupsOf, type FieldGroup, inRow, rowWord } from "./groups";
import { RowsField } from "./rows_field";
import "./form.css";

export type { Field } from "./groups";

interface Props {
  readonly fields: readonly Field[];
  readonly store: RecordStore<Kept>;
  /** Which groups lie open at first. */
  readonly open?: readonly string[];
}

export function Form({ fields, store, open = [] }: Props) {
  return (
    <div class="form">
      {groupsOf(fields).map((group) => (
        <Group key={group.name} group={group} store={store} open={open.includes(group.name)} />
      ))}
    </div>
  );
}

interface GroupProps {
  readonly group: FieldGroup;
  readonly store: RecordStore<Kept>;
}

function Group({ group, store, open }: GroupProps & { open: boolean }) {
  const [shown, setShown] = useState(open);
  return (
    <details
      class="form-group"
      name="settings" // opening one closes the others: the page keeps its length
      open={shown}
      onToggle={(event) => setShown(event.currentTarget.open)}
    >
      <summary>
        {group.title}
        <Amount group={group} store={store} />
      </summary>
      {shown && <Inside group={group} store={store} />}
    </details>
  );
}

/** Said on a closed group: how many rows, or that it is left out. */
function Amount({ group, store }: GroupProps) {
  const value = valueAt(store.tables.value, group.table);
  if (group.rows) {
    const count = Array.isArray(value) ? value.length : 0;
    return <span class="quiet">{count === 0 ? "none" : count}</span>;
  }
  return group.optional && value === undefined ? <span class="quiet">left out</span> : null;
}

function Inside({ group, store }: GroupProps) {
  const value = valueAt(store.tables.value, group.table);
  if (group.rows) return <Rows group={group} store={store} rows={Array.isArray(value) ? value : []} />;
  if (group.optional && value === undefined) {
    return (
      <button
        type="button"
        class="quiet-key form-more"
        onClick={() => store.change(group.table, beginnings(group.fields, group.table))}
      >
        Have {group.title.toLowerCase()}
      </button>
    );
  }
  return (
    <>
      <Fields fields={group.fields} store={store} />
      {group.optional && (
        <button
          type="button"
          class="quiet-key form-more"
          onClick={() => store.change(group.table, undefined)}
        >
          Leave {group.title.toLowerCase()} out
        </button>
      )}
    </>
  );
}

function Rows({ group, store, rows }: GroupProps & { rows: readonly Value[] }) {
  const word = rowWord(group);
  const add = (): void => {
    const row = beginnings(group.fields, `${group.table}.*`);
    store.change(group.table, [...rows, row]);
  };
  const drop = (index: number): void => {
    const left = rows.filter((_, i) => i !== index);
    store.change(group.table, left.length ? left : undefined);
  };
  return (
    <>
      {rows.map((_, i) => (
        <fieldset class="form-row" key={i}>
          <legend>
            {word} {i + 1}
          </legend>
          <Fields fields={group.fields.map((field) => inRow(field, i))} store={store} />
          <button type="button" class="quiet-key form-more" onClick={() => drop(i)}>
            Take {word} {i + 1} out
          </button>
        </fieldset>
      ))}
      <button type="button" class="quiet-key form-more" onClick={add}>
        Add a {word}
      </button>
    </>
  );
}

function Fields({ fields, store }: { fields: readonly Field[]; store: RecordStore<Kept> }) {
  return (
    <div class="form-fields">
      {fields.map((field) => (
        <OneField key={field.path} field={field} store={store} />
      ))}
    </div>
  );
}

function OneField(props: { field: Field; store: RecordStore<Kept> }) {
  const wrong = props.store.problem.value?.field === props.field.path;
  return (
    <div class={wrong ? "field-place is-wrong" : "field-place"}>
      <AnyField {...props} />
    </div>
  );
}

function AnyField({ field, store }: { field: Field; store: RecordStore<Kept> }) {
  const shared = {
    field,
    value: valueAt(store.tables.value, field.path),
    onChange: (next: Value | undefined): void => {
      store.change(field.path, next, `field ${field.path}`);
    },
    onEnd: () => store.lift(),
  };
  switch (field.kind) {
    case "length":
    case "number":
    case "count":
      return <NumberField {...shared} />;
    case "numbers":
      return <NumbersField {...shared} />;
    case "choice":
      return <ChoiceField {...shared} />;
    case "flag":
      return <FlagField {...shared} />;
    case "rows":
      return <RowsField {...shared} />;
    case "day":
      return <TextField {...shared} isDay />;
    case "text":
      return <TextField {...shared} />;
    case "file":
    case "words":
      return null;
  }
}
