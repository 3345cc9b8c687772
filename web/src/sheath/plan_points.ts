/** Points that move along a line of their own, and the value in the file each stands for. */

import { tidy } from "../state/tables";
import type { Point } from "../state/types";
import type { PlanHandle } from "./types";

/** Where a point lies when its value is this. */
export function placeOf(handle: PlanHandle, value: number): Point {
  const way = (value - handle.value) / handle.per_mm;
  return [handle.x + way * handle.along[0], handle.y + way * handle.along[1]];
}

/** The value a point has when it is put there: the nearest place on its line counts. */
export function valueOf(handle: PlanHandle, [x, y]: Point): number {
  const way = (x - handle.x) * handle.along[0] + (y - handle.y) * handle.along[1];
  const value = Math.max(0, handle.value + way * handle.per_mm);
  // A share of a line finer than a thousandth, a length finer than a hundredth, nobody means.
  return handle.per_mm === 1 ? Math.round(value * 100) / 100 : Math.min(1, tidy(value));
}
