/** The server's list of fields, sorted into the tables they stand in. */

import type { Tables, Value } from "../state/types";

export interface Choice {
  readonly value: string;
  readonly label: string;
}

export type FieldKind =
  | "length"
  | "number"
  | "count"
  | "choice"
  | "text"
  | "flag"
  | "day"
  | "numbers"
  | "rows"
  // set elsewhere on the page, or only when the record is begun:
  | "file"
  | "words";

export interface Field {
  /** Dotted; `*` stands for the number of a row: `sheath.clips.*.along`. */
  readonly path: string;
  readonly label: string;
  readonly unit: string | null;
  readonly kind: FieldKind;
  readonly least: number | null;
  readonly most: number | null;
  readonly step: number | null;
  readonly choices: readonly Choice[];
  readonly help: string;
  readonly group: string;
  readonly default: Value;
  readonly required: boolean;
  readonly optional_table: boolean;
}

export interface FieldGroup {
  readonly name: string;
  readonly title: string;
  /** Where its values stand: `sheath.clearance`, or the list of rows `sheath.clips`. */
  readonly table: string;
  readonly rows: boolean;
  /** It can be left out as a whole. */
  readonly optional: boolean;
  readonly fields: readonly Field[];
}

export function groupsOf(fields: readonly Field[]): readonly FieldGroup[] {
  const names = [...new Set(fields.map((field) => field.group))];
  return names.map((name) => {
    const own = fields.filter((field) => field.group === name);
    const first = own[0]?.path ?? "";
    const rows = first.includes(".*.");
    return {
      name,
      title: titleOf(name),
      table: rows ? first.slice(0, first.indexOf(".*.")) : first.slice(0, first.lastIndexOf(".")),
      rows,
      optional: !rows && own.every((field) => field.optional_table),
      fields: own.filter((field) => field.kind !== "file" && field.kind !== "words"),
    };
  });
}

/** `sheath tip pads` is headed Tip pads: what a sheath file is about need not be said each time. */
function titleOf(group: string): string {
  const words = group.replace(/^(sheath|blade|knife) (?=.)/, "");
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** What a value is called: "Clip 2: half it sits on"; its path where the form has no word for it. */
export function wordsFor(path: string, fields: readonly Field[]): string {
  const row = path.split(".").find((part) => /^\d+$/.test(part));
  const starred = path.replace(/\.\d+(?=\.|$)/, ".*");
  const field = fields.find((each) => each.path === starred);
  if (!field) return path;
  if (row === undefined) return field.label;
  const own = titleOf(field.group).replace(/s$/, "");
  return `${own} ${Number(row) + 1}: ${field.label.charAt(0).toLowerCase()}${field.label.slice(1)}`;
}

/** One of a group's rows: clips, a clip. */
export function rowWord(group: FieldGroup): string {
  const last = group.title.toLowerCase().split(" ").at(-1) ?? "row";
  return last.replace(/s$/, "");
}

/** A field of one row. */
export function inRow(field: Field, row: number): Field {
  return { ...field, path: field.path.replace("*", String(row)) };
}

/** What a new table or row begins with: its defaults where they must be said, and for what has
 * none the first choice or the middle of its range.
 */
export function beginnings(fields: readonly Field[], under: string): Tables {
  const row: Record<string, Value> = {};
  for (const field of fields) {
    const key = field.path.slice(under.length + 1);
    const value = field.required ? begun(field) : field.default;
    if (value !== null && value !== undefined) row[key] = value;
  }
  return row;
}

function begun(field: Field): Value {
  if (field.default !== null && field.default !== undefined) return field.default;
  switch (field.kind) {
    case "choice":
      return field.choices[0]?.value ?? null;
    case "flag":
      return false;
    case "text":
    case "day":
    case "file":
      return "";
    case "numbers":
    case "rows":
    case "words":
      return [];
    default:
      return middle(field);
  }
}

function middle(field: Field): number {
  const least = field.least ?? 0;
  const most = field.most ?? Math.max(least + 40, 40);
  return Math.round((least + (most - least) / 4) * 100) / 100;
}
