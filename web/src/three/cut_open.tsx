/** Cut what is shown open by a plane, to look inside. */

import { length } from "../state/units";
import type { Box } from "./buffers";
import type { Plane } from "./surface";

/** The axis the plane stands across, how far along the box it is, and which half is kept. */
export interface Opening {
  readonly axis: 0 | 1 | 2;
  readonly share: number;
  readonly other: boolean;
}

const WAYS = ["Across", "Lengthwise", "Level"] as const;

export function planeOf(opening: Opening | null, box: Box | null): Plane | null {
  if (opening === null || box === null) return null;
  const at = placeOf(opening, box);
  const way = opening.other ? -1 : 1;
  const normal = [0, 1, 2].map((axis) => (axis === opening.axis ? way : 0));
  return { normal: normal as unknown as [number, number, number], reach: way * at };
}

/** Where the plane is, mm along its axis. The very ends are let in a hair, so that a face stays. */
export function placeOf({ axis, share }: Opening, box: Box): number {
  const [least, greatest] = [box[axis], box[axis + 3] as number];
  return least + (0.0005 + 0.999 * share) * (greatest - least);
}

interface CutOpenProps {
  readonly opening: Opening | null;
  readonly box: Box | null;
  readonly change: (opening: Opening | null) => void;
}

export function CutOpen({ opening, box, change }: CutOpenProps) {
  const turn = (axis: 0 | 1 | 2): void =>
    // Lengthwise the front half goes, so that one looks in from the front.
    change({ axis, share: 0.5, other: axis === 1 });
  return (
    <div class="cut-open">
      <div class="stand-sides" role="group" aria-label="Cut open">
        <span class="stand-word">Cut open</span>
        <button type="button" aria-pressed={opening === null} onClick={() => change(null)}>
          Whole
        </button>
        {WAYS.map((words, axis) => (
          <button key={words} type="button" aria-pressed={opening?.axis === axis} onClick={() => turn(axis as 0 | 1 | 2)}>
            {words}
          </button>
        ))}
        {opening === null ? null : (
          <button type="button" onClick={() => change({ ...opening, other: !opening.other })}>
            The other half
          </button>
        )}
      </div>
      {opening === null || box === null ? null : (
        <label class="slide">
          <span class="unseen">Where it is cut</span>
          <input
            type="range"
            min="0"
            max="1"
            step="0.002"
            value={opening.share}
            aria-valuetext={length(placeOf(opening, box), 1)}
            onInput={(event) => change({ ...opening, share: event.currentTarget.valueAsNumber })}
          />
          <output>{length(placeOf(opening, box), 1)}</output>
        </label>
      )}
    </div>
  );
}
