/** Two changes of one file laid together, where they do not touch the same value. */

import { same } from "./tables";
import type { Tables, Value } from "./types";

/** What both made of `base`; null where they changed one value differently. A list is one value:
 * rows of two hands are never mixed. */
export function merged(base: Tables, mine: Tables, theirs: Tables): Tables | null {
  const both: Record<string, Value> = {};
  for (const key of new Set([...Object.keys(theirs), ...Object.keys(mine)])) {
    const [was, one, other] = [base[key], mine[key], theirs[key]];
    const found = valueOf(was, one, other);
    if (found === null) return null;
    if (found.value !== undefined) both[key] = found.value;
  }
  return both;
}

interface Found {
  /** Undefined: it was taken out. */
  readonly value: Value | undefined;
}

function valueOf(
  was: Value | undefined,
  one: Value | undefined,
  other: Value | undefined,
): Found | null {
  if (same(one, was) || same(one, other)) return { value: other };
  if (same(other, was)) return { value: one };
  if (!isTable(one) || !isTable(other)) return null;
  const inner = merged(isTable(was) ? was : {}, one, other);
  return inner === null ? null : { value: inner };
}

function isTable(value: Value | undefined): value is Tables {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
