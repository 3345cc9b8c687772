/** Reads and changes a TOML file held as JSON, by dotted paths such as `sheath.clearance.side`. */

import type { Tables, Value } from "./types";

function isTables(value: Value | undefined): value is Tables {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

export function valueAt(tables: Tables, path: string): Value | undefined {
  let here: Value | undefined = tables;
  for (const key of path.split(".")) {
    if (Array.isArray(here)) here = here[Number(key)] as Value | undefined;
    else if (isTables(here)) here = here[key];
    else return undefined;
  }
  return here;
}

/** A copy with one value changed; undefined takes the key, or the row of a list, away. */
export function withValue(tables: Tables, path: string, value: Value | undefined): Tables {
  return changed(tables, path.split("."), value) as Tables;
}

function changed(here: Value | undefined, path: readonly string[], value: Value | undefined): Value {
  const [key, ...rest] = path as [string, ...string[]];
  if (Array.isArray(here)) {
    const copy = [...(here as readonly Value[])];
    const row = Number(key);
    if (rest.length) copy[row] = changed(copy[row], rest, value);
    else if (value === undefined) copy.splice(row, 1);
    else copy[row] = value;
    return copy;
  }
  const copy: Record<string, Value> = isTables(here) ? { ...here } : {};
  if (rest.length) {
    const below = copy[key];
    const asList = below === undefined && rest[0] === "0";
    copy[key] = changed(asList ? [] : below, rest, value);
  } else if (value === undefined) delete copy[key];
  else copy[key] = value;
  return copy;
}

/** Whether two files say the same, whatever the order of their keys. */
export function same(one: Value | undefined, other: Value | undefined): boolean {
  if (one === other) return true;
  if (Array.isArray(one) && Array.isArray(other)) {
    return one.length === other.length && one.every((each, i) => same(each as Value, other[i]));
  }
  if (!isTables(one) || !isTables(other)) return false;
  const keys = Object.keys(one);
  return (
    keys.length === Object.keys(other).length &&
    keys.every((key) => key in other && same(one[key], other[key]))
  );
}

/** A length as it is written: to a ten-thousandth of a millimetre. */
export function tidy(mm: number): number {
  return Math.round(mm * 1e4) / 1e4;
}
