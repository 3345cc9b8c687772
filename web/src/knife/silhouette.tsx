/** A knife as one sees it hang: all of them to the same scale, so that a long one looks long. */

import { boxOf } from "../drawing/frame";
import type { Line } from "../state/types";

interface Props {
  readonly outline: Line;
  /** Length that fills the width, mm. */
  readonly across: number;
}

export function Silhouette({ outline, across }: Props) {
  const box = boxOf(outline);
  if (!box) return <div class="silhouette is-missing" aria-hidden="true" />;
  const high = Math.max(58, box.y1 - box.y0 + 16);
  const middle = (box.y0 + box.y1) / 2;
  const points = outline.map(([x, y]) => `${x - box.x0},${(high / 2 - (y - middle)).toFixed(2)}`);
  return (
    <svg
      class="silhouette"
      viewBox={`-8 0 ${across + 16} ${high}`}
      aria-hidden="true"
    >
      <polygon points={points.join(" ")} />
    </svg>
  );
}
