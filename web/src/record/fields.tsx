/** One field each kind: a number with keys for gloved fingers, a choice, a yes or no, a text. */

import { useId, useState } from "preact/hooks";
import { LessIcon, PlusIcon } from "../look/icons";
import { readNumber, writeNumber } from "./number";
import { tidy } from "../state/tables";
import type { Value } from "../state/types";
import { fromShown, toShown, unit } from "../state/units";
import type { Field } from "./groups";
import { told } from "../state/sentences";

interface Shared {
  readonly field: Field;
  readonly value: Value | undefined;
  readonly onChange: (value: Value | undefined) => void;
  readonly onEnd: () => void;
}

export function NumberField({ field, value, onChange, onEnd }: Shared) {
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const isLength = field.kind === "length";
  const known = typeof value === "number" ? value : null;
  const usual = typeof field.default === "number" ? field.default : null;
  const toText = (mm: number): string => writeNumber(isLength ? toShown(mm) : mm);
  const put = (figure: number): void => {
    const held = Math.min(field.most ?? Infinity, Math.max(field.least ?? -Infinity, figure));
    onChange(isLength ? tidy(held) : Number(held.toFixed(6)));
  };
  const type = (text: string): void => {
    setTyped(text);
    const number = readNumber(text);
    if (text.trim() === "" && usual !== null) onChange(undefined);
    else if (number !== null) put(isLength ? fromShown(number) : number);
  };
  const step = (way: number): void => {
    setTyped(null);
    const size = field.step ?? (isLength ? 0.1 : 1);
    const from = known ?? usual ?? field.least ?? 0;
    put(Math.round((from + way * size) / size) * size);
    onEnd();
  };
  const shown = typed ?? (known === null ? "" : toText(known));
  const bad = typed !== null && typed.trim() !== "" && readNumber(typed) === null;
  return (
    <div class="field">
      <label for={id}>{capital(field.label)}</label>
      <div class="field-number">
        <button type="button" aria-label={`Less ${field.label}`} onClick={() => step(-1)}>
          <LessIcon />
        </button>
        <input
          id={id}
          type="text"
          inputMode="decimal"
          autocomplete="off"
          value={shown}
          placeholder={usual === null ? "" : toText(usual)}
          aria-invalid={bad}
          aria-describedby={`${id}-help`}
          onInput={(event) => type(event.currentTarget.value)}
          onBlur={() => {
            setTyped(null);
            onEnd();
          }}
          onKeyDown={(event) => {
            if (event.key === "ArrowUp") step(1);
            else if (event.key === "ArrowDown") step(-1);
            else return;
            event.preventDefault();
          }}
        />
        <button type="button" aria-label={`More ${field.label}`} onClick={() => step(1)}>
          <PlusIcon />
        </button>
        <span class="field-unit">{isLength ? unit.value : (field.unit ?? "")}</span>
      </div>
      <Help id={`${id}-help`} text={field.help} />
    </div>
  );
}

export function ChoiceField({ field, value, onChange, onEnd }: Shared) {
  const id = useId();
  const shown = typeof value === "string" ? value : String(value ?? field.default ?? "");
  const choices = field.choices;
  return (
    <div class="field">
      <label for={id}>{capital(field.label)}</label>
      <select
        id={id}
        value={shown}
        aria-describedby={`${id}-help`}
        onChange={(event) => {
          onChange(event.currentTarget.value || undefined);
          onEnd();
        }}
      >
        {!choices.some((each) => each.value === shown) && (
          <option value={shown}>{shown || "left out"}</option>
        )}
        {choices.map((each) => (
          <option key={each.value} value={each.value}>
            {told(each.label)}
          </option>
        ))}
      </select>
      <Help id={`${id}-help`} text={field.help} />
    </div>
  );
}

export function FlagField({ field, value, onChange, onEnd }: Shared) {
  const id = useId();
  const on = value === undefined ? field.default === true : value === true;
  return (
    <div class="field">
      <label class="field-flag">
        <input
          type="checkbox"
          checked={on}
          aria-describedby={`${id}-help`}
          onChange={(event) => {
            onChange(event.currentTarget.checked);
            onEnd();
          }}
        />
        <span>{capital(field.label)}</span>
      </label>
      <Help id={`${id}-help`} text={field.help} />
    </div>
  );
}

interface TextProps extends Shared {
  readonly isDay?: boolean;
}

export function TextField({ field, value, onChange, onEnd, isDay = false }: TextProps) {
  const id = useId();
  const shared = {
    id,
    value: typeof value === "string" ? value : String(value ?? ""),
    "aria-describedby": `${id}-help`,
    onInput: (event: Event & { currentTarget: HTMLInputElement }) =>
      onChange(event.currentTarget.value || undefined),
    onBlur: onEnd,
  };
  return (
    <div class="field">
      <label for={id}>{capital(field.label)}</label>
      {isDay ? <input type="date" {...shared} /> : <input type="text" {...shared} />}
      <Help id={`${id}-help`} text={field.help} />
    </div>
  );
}

/** Several figures with blanks or commas between them. */
export function NumbersField({ field, value, onChange, onEnd }: Shared) {
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const isLength = field.unit === "mm";
  const known = Array.isArray(value)
    ? value.map((each) => writeNumber(isLength ? toShown(Number(each)) : Number(each))).join("  ")
    : "";
  const readOne = (text: string): number | null => {
    const number = readNumber(text);
    return number !== null && isLength ? fromShown(number) : number;
  };
  const read = (text: string): readonly (number | null)[] =>
    text.split(/[\s;]+/).filter(Boolean).map(readOne);
  const bad = typed !== null && read(typed).includes(null);
  return (
    <div class="field">
      <label for={id}>{capital(field.label)}</label>
      <input
        id={id}
        type="text"
        value={typed ?? known}
        aria-invalid={bad}
        aria-describedby={`${id}-help`}
        onInput={(event) => {
          const text = event.currentTarget.value;
          const numbers = read(text);
          setTyped(text);
          if (numbers.length === 0) onChange(undefined);
          else if (!numbers.includes(null)) onChange(numbers as number[]);
        }}
        onBlur={() => {
          setTyped(null);
          onEnd();
        }}
      />
      <Help id={`${id}-help`} text={field.help} />
    </div>
  );
}

function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}

function Help({ id, text }: { id: string; text: string | null | undefined }) {
  return text ? (
    <p class="field-help" id={id}>
      {told(text)}
    </p>
  ) : null;
}
