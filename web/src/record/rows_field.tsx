/** A table of lengths: caliper stations, thicknesses. As figures what the drawings show as points. */

import { useState } from "preact/hooks";
import { tidy } from "../state/tables";
import type { Value } from "../state/types";
import { fromShown, toShown, unit } from "../state/units";
import type { Field } from "./groups";
import { readNumber, writeNumber } from "./number";
import { told } from "../state/sentences";

/** What stands in the columns, by how many there are. */
const PLACES = ["from the tip", "up, towards the spine"] as const;

const COLUMNS: Readonly<Record<number, readonly string[]>> = {
  2: ["from the tip", "thick"],
  3: ["from the tip", "edge side", "spine side"],
};

interface Props {
  readonly field: Field;
  readonly value: Value | undefined;
  readonly onChange: (value: Value | undefined) => void;
  readonly onEnd: () => void;
}

export function RowsField({ field, value, onChange, onEnd }: Props) {
  const rows = Array.isArray(value) ? (value as readonly (readonly number[])[]) : [];
  const wide = rows[0]?.length ?? 0;
  if (!wide) return null;
  const isPlaces = field.path.endsWith(".at");
  const names: readonly string[] = isPlaces ? PLACES : COLUMNS[wide] ?? rows[0]?.map((_, i) => `column ${i + 1}`) ?? [];
  const put = (row: number, column: number, mm: number): void => {
    onChange(
      rows.map((each, i) => (i === row ? each.map((cell, k) => (k === column ? mm : cell)) : [...each])),
    );
  };
  const add = (after: number): void => {
    const [one, other] = [rows[after], rows[after + 1]];
    if (!one) return;
    const next = one.map((cell, k) =>
      other ? tidy((cell + (other[k] ?? cell)) / 2) : k === 0 ? tidy(cell + 5) : cell,
    );
    onChange([...rows.slice(0, after + 1), next, ...rows.slice(after + 1)].map((each) => [...each]));
    onEnd();
  };
  const drop = (row: number): void => {
    onChange(rows.filter((_, i) => i !== row).map((each) => [...each]));
    onEnd();
  };
  return (
    <div class="field is-wide">
      <table class="rows-field">
        <caption>
          {field.label.charAt(0).toUpperCase() + field.label.slice(1)}, {unit.value}
        </caption>
        <thead>
          <tr>
            {names.map((name) => (
              <th key={name} scope="col">
                {name}
              </th>
            ))}
            <th />
          </tr>
        </thead>
        <tbody>
          {rows.map((row, i) => (
            <tr key={i}>
              {row.map((cell, k) => (
                <td key={k}>
                  <Cell
                    value={cell}
                    label={`${field.label}, row ${i + 1}, ${names[k] ?? ""}`}
                    onPut={(mm) => put(i, k, mm)}
                    onEnd={onEnd}
                  />
                </td>
              ))}
              <td class="rows-keys">
                <button type="button" aria-label={`Add a row behind row ${i + 1}`} onClick={() => add(i)}>
                  +
                </button>
                <button
                  type="button"
                  aria-label={`Take row ${i + 1} out`}
                  disabled={rows.length <= 2}
                  onClick={() => drop(i)}
                >
                  −
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {field.help && <p class="field-help">{told(field.help)}</p>}
    </div>
  );
}

interface CellProps {
  readonly value: number;
  readonly label: string;
  readonly onPut: (mm: number) => void;
  readonly onEnd: () => void;
}

function Cell({ value, label, onPut, onEnd }: CellProps) {
  const [typed, setTyped] = useState<string | null>(null);
  const bad = typed !== null && readNumber(typed) === null;
  return (
    <input
      type="text"
      inputMode="decimal"
      autocomplete="off"
      aria-label={label}
      aria-invalid={bad}
      value={typed ?? writeNumber(toShown(value))}
      onInput={(event) => {
        setTyped(event.currentTarget.value);
        const number = readNumber(event.currentTarget.value);
        if (number !== null) onPut(fromShown(number));
      }}
      onBlur={() => {
        setTyped(null);
        onEnd();
      }}
    />
  );
}
