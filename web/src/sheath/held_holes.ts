/** Holes that a person holds in place, as the file tells them: rows of `[x, y]`. */

import { tidy, valueAt, withValue } from "../state/tables";
import type { Point, Tables } from "../state/types";
import type { Hole } from "./types";

export interface Held {
  readonly kind: "eyelet" | "drain";
  /** Which row of the file it is; null while it stands where it was planned. */
  readonly row: number | null;
  /** Where it was seen last. */
  readonly at: Point;
}

export interface Spot extends Held {
  /** Of its handle. */
  readonly id: string;
}

const PATHS = { eyelet: "sheath.eyelets.at", drain: "sheath.drain.at" } as const;

export function isHeld(hole: Held): boolean {
  return hole.row !== null;
}

/** A hole of the plan as something to drag; a clip's own plain hole goes with its clip. */
export function spotOf(hole: Hole): readonly Spot[] {
  if (hole.kind === "clip") return [];
  const id = hole.held === null ? hole.id : `${hole.kind} held ${hole.held}`;
  return [{ id, kind: hole.kind, row: hole.held, at: [hole.x, hole.y] }];
}

function rowsOf(tables: Tables, kind: Held["kind"]): readonly Point[] {
  const rows = valueAt(tables, PATHS[kind]);
  return Array.isArray(rows) ? (rows as readonly Point[]) : [];
}

/** Where the file holds it now; null where it does not. */
export function placeHeld(tables: Tables, hole: Held): Point | null {
  return hole.row === null ? null : (rowsOf(tables, hole.kind)[hole.row] ?? null);
}

/** The file with a hole held at a place, and the row it has there. */
export function put(tables: Tables, hole: Held, [x, y]: Point): { tables: Tables; row: number } {
  const rows = rowsOf(tables, hole.kind);
  const row = hole.row !== null && hole.row < rows.length ? hole.row : rows.length;
  // Finer than a hundredth nobody means.
  const place = [x, y].map((each) => tidy(Math.round(each * 100) / 100));
  const next = [...rows.map((each) => [...each]), ...(row === rows.length ? [[]] : [])];
  next[row] = place;
  return { tables: withValue(tables, PATHS[hole.kind], next), row };
}

/** The file without a place that was held. */
export function letGo(tables: Tables, hole: Held): Tables {
  const rows = rowsOf(tables, hole.kind).filter((_, i) => i !== hole.row);
  return withValue(tables, PATHS[hole.kind], rows.length ? rows.map((each) => [...each]) : undefined);
}
