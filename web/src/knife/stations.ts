/** Caliper stations as one drags them: rows of x, y of the edge side, y of the spine side. */

import { tidy } from "../state/tables";
import type { Line, Point, Tables, Value } from "../state/types";

export type Row = readonly [number, number, number];
export type Side = "edge" | "spine";

/** No two stations, and no edge and spine, come nearer to each other than this, mm. */
const NEAREST = 0.2;

export function readRows(value: Value | undefined, wide: number): readonly number[][] | null {
  if (!Array.isArray(value) || value.length < 2) return null;
  const rows = value as readonly Value[];
  const good = rows.every(
    (row) =>
      Array.isArray(row) && row.length === wide && row.every((each) => typeof each === "number"),
  );
  return good ? (rows as unknown as readonly number[][]) : null;
}

export function stationsOf(tables: Tables): readonly Row[] | null {
  const outline = tables.outline;
  if (typeof outline !== "object" || outline === null || Array.isArray(outline)) return null;
  return readRows((outline as Tables).stations, 3) as readonly Row[] | null;
}

/** One end of a station moved; x moves both its ends, the first stays at the tip. */
export function moveStation(
  rows: readonly Row[],
  index: number,
  side: Side,
  to: Point,
): readonly Row[] {
  const row = rows[index];
  if (!row) return rows;
  const x = heldBetween(rows, index, to[0]);
  const pointed = row[1] === row[2];
  const y = tidy(to[1]);
  const next: Row = pointed
    ? [x, y, y]
    : side === "edge"
      ? [x, Math.min(y, tidy(row[2] - NEAREST)), row[2]]
      : [x, row[1], Math.max(y, tidy(row[1] + NEAREST))];
  return rows.map((each, i) => (i === index ? next : each));
}

/** x of a row, kept between its neighbours'. */
function heldBetween(rows: readonly (readonly number[])[], index: number, x: number): number {
  if (index === 0) return rows[0]?.[0] ?? 0;
  const least = (rows[index - 1]?.[0] ?? 0) + NEAREST;
  const most = (rows[index + 1]?.[0] ?? Number.POSITIVE_INFINITY) - NEAREST;
  return tidy(Math.min(Math.max(x, least), Math.max(least, most)));
}

/** A new row half-way to the next one; behind the last one, half-way to the one before. */
export function addRow<Cells extends readonly number[]>(
  rows: readonly Cells[],
  after: number,
): readonly Cells[] {
  const at = Math.min(Math.max(after, 0), rows.length - 2);
  const [one, other] = [rows[at], rows[at + 1]];
  if (!one || !other || (other[0] ?? 0) - (one[0] ?? 0) < 2 * NEAREST) return rows;
  const middle = one.map((value, i) => tidy((value + (other[i] ?? value)) / 2));
  return [...rows.slice(0, at + 1), middle as unknown as Cells, ...rows.slice(at + 1)];
}

/** The two ends stay, and two rows at least. */
export function dropRow<Cells extends readonly number[]>(
  rows: readonly Cells[],
  index: number,
): readonly Cells[] {
  return index > 0 && index < rows.length - 1 ? rows.filter((_, i) => i !== index) : rows;
}

/** One row of a thickness table moved; a thickness is never below a tenth of a millimetre. */
export function moveThickness(rows: Line, index: number, to: Point, ends: boolean): Line {
  const row = rows[index];
  if (!row) return rows;
  const atEnd = index === 0 || index === rows.length - 1;
  const x = ends && atEnd ? row[0] : heldBetween(rows, index, to[0]);
  return rows.map((each, i) => (i === index ? ([x, tidy(Math.max(to[1], 0.1))] as const) : each));
}

/** The outline through the stations while they are dragged: a curve for the eye only. What counts
 * is the one the server gives back. */
export function drawnThrough(rows: readonly Row[]): Line {
  const lower = curve(rows.map((row) => [row[0], row[1]] as const));
  const upper = curve(rows.map((row) => [row[0], row[2]] as const));
  return [...lower, ...upper.reverse()];
}

/** Cubic pieces whose slopes never overshoot (Fritsch and Carlson's monotone rule). */
function curve(points: readonly Point[]): Point[] {
  const slopes = points.slice(1).map((point, i) => {
    const before = points[i] ?? point;
    return (point[1] - before[1]) / (point[0] - before[0] || 1);
  });
  const tangents = points.map((_, i) => {
    const [a, b] = [slopes[i - 1], slopes[i]];
    if (a === undefined || b === undefined) return a ?? b ?? 0;
    return a * b <= 0 ? 0 : (2 * a * b) / (a + b);
  });
  return points.flatMap((point, i) => {
    const next = points[i + 1];
    if (!next) return [point];
    const wide = next[0] - point[0];
    const [m0, m1] = [(tangents[i] ?? 0) * wide, (tangents[i + 1] ?? 0) * wide];
    return [0, 0.2, 0.4, 0.6, 0.8].map((t) => {
      const [t2, t3] = [t * t, t * t * t];
      const y =
        (2 * t3 - 3 * t2 + 1) * point[1] +
        (t3 - 2 * t2 + t) * m0 +
        (3 * t2 - 2 * t3) * next[1] +
        (t3 - t2) * m1;
      return [point[0] + t * wide, y] as const;
    });
  });
}

/** A drawn outline pulled at one corner: its neighbours follow, less the further they lie. */
export function pulled(line: Line, index: number, to: Point, reach: number): Line {
  const from = line[index];
  if (!from) return line;
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const along = distancesFrom(line, index);
  return line.map((point, i) => {
    const away = along[i] ?? Number.POSITIVE_INFINITY;
    if (away >= reach) return point;
    const share = (1 + Math.cos((Math.PI * away) / reach)) / 2;
    return [tidy(point[0] + share * dx), tidy(point[1] + share * dy)] as const;
  });
}

/** Length along a closed line from one corner to every other, the shorter way. */
function distancesFrom(line: Line, index: number): readonly number[] {
  const count = line.length;
  const steps = line.map((point, i) => {
    const next = line[(i + 1) % count] ?? point;
    return Math.hypot(next[0] - point[0], next[1] - point[1]);
  });
  const whole = steps.reduce((sum, step) => sum + step, 0);
  const along = new Array<number>(count).fill(0);
  let walked = 0;
  for (let k = 1; k < count; k += 1) {
    walked += steps[(index + k - 1) % count] ?? 0;
    along[(index + k) % count] = Math.min(walked, whole - walked);
  }
  return along;
}

/** Corners of a line some `pitch` apart, for handles: their places in the line. */
export function everySo(line: Line, pitch: number): readonly number[] {
  const chosen: number[] = [];
  let walked = pitch;
  line.forEach((point, i) => {
    const before = line[i - 1];
    if (before) walked += Math.hypot(point[0] - before[0], point[1] - before[1]);
    if (walked >= pitch) {
      chosen.push(i);
      walked = 0;
    }
  });
  return chosen;
}

/** Rows no nearer to each other than `apart`, mm: both ends, the chosen one, and what has room. */
export function spaced(rows: readonly Row[], apart: number, chosen: number): ReadonlySet<number> {
  const kept = new Set([0, rows.length - 1]);
  if (chosen >= 0 && chosen < rows.length) kept.add(chosen);
  rows.forEach((row, i) => {
    const near = [...kept].some((each) => Math.abs((rows[each]?.[0] ?? 0) - row[0]) < apart);
    if (!near) kept.add(i);
  });
  return kept;
}
