/** Where two files differ, in words short enough for a table. */

import { same } from "../state/tables";
import type { Tables, Value } from "../state/types";
import { told } from "../state/sentences";
import type { Field } from "./groups";

export interface Difference {
  readonly path: string;
  readonly one: string;
  readonly other: string;
}

/** Where they differ, figures in the unit shown. */
export function differences(one: Tables, other: Tables, fields: readonly Field[] = [], under = ""): readonly Difference[] {
  const keys = [...new Set([...Object.keys(one), ...Object.keys(other)])];
  return keys.flatMap((key) => {
    const [a, b] = [one[key], other[key]];
    const path = under ? `${under}.${key}` : key;
    if (same(a, b)) return [];
    if (isTable(a) && isTable(b)) return differences(a, b, fields, path);
    const unit = fields.find((field) => field.path === path)?.unit ?? "";
    return [{ path, one: inWords(a, unit), other: inWords(b, unit) }];
  });
}

function isTable(value: Value | undefined): value is Tables {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function inWords(value: Value | undefined, unit: string): string {
  if (value === undefined || value === null) return "left out";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (Array.isArray(value)) return value.length === 1 ? "1 row" : `${value.length} rows`;
  if (typeof value === "object") return "there";
  return told(`${value} ${typeof value === "number" ? unit : ""}`.trim());
}
