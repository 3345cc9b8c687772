/** Eyelets and drains to drag: one that was moved stays where it is held, the others are planned round it. */

import { useRef, useState } from "preact/hooks";
import type { Frame } from "../drawing/frame";
import { Handle } from "../drawing/handle";
import type { RecordStore } from "../state/record";
import type { Point } from "../state/types";
import { length } from "../state/units";
import { type Held, isHeld, letGo, placeHeld, put, type Spot, spotOf } from "./held_holes";
import type { Hole, SheathRecord } from "./types";

interface Props {
  readonly frame: Frame;
  readonly holes: readonly Hole[];
  readonly store: RecordStore<SheathRecord>;
  readonly onDrag: (dragging: boolean) => void;
  readonly chosen: Held | null;
  readonly onChoose: (hole: Held) => void;
}

/** The hole in the hand: its handle must outlive every plan that comes meanwhile. */
type Grip = Spot;

export function HolePoints({ frame, holes, store, onDrag, chosen, onChoose }: Props) {
  // Known at once, also to a second move that comes before the page is drawn anew.
  const inHand = useRef<Grip | null>(null);
  const [grip, setShownGrip] = useState<Grip | null>(null);
  const setGrip = (next: Grip | null): void => {
    inHand.current = next;
    setShownGrip(next);
  };
  const tables = store.tables.value;
  const spots = holes.flatMap(spotOf);
  // The one in the hand stands for itself, however the others are numbered anew meanwhile.
  const shown = grip === null ? spots : [...spots.filter((spot) => !isSame(spot, grip)), grip];
  const end = (): void => {
    if (inHand.current === null) return;
    setGrip(null);
    onDrag(false);
    store.lift();
  };
  return (
    <>
      {shown.map((spot) => (
        <Handle
          key={spot.id}
          frame={frame}
          at={placeHeld(tables, spot) ?? spot.at}
          look={isHeld(spot) ? "dot" : "hole"}
          label={wordsOf(spot, placeHeld(tables, spot) ?? spot.at)}
          chosen={chosen !== null && chosen.kind === spot.kind && isHeld(chosen) && chosen.row === spot.row}
          onChoose={() => onChoose({ kind: spot.kind, row: spot.row, at: spot.at })}
          onMove={(to, stroke) => {
            onDrag(true);
            const now = inHand.current;
            const row = now?.id === spot.id ? now.row : spot.row;
            const next = put(store.tables.value, { kind: spot.kind, row, at: spot.at }, to);
            if (now?.id !== spot.id) setGrip({ id: spot.id, kind: spot.kind, row: next.row, at: spot.at });
            onChoose({ kind: spot.kind, row: next.row, at: to });
            store.replace(next.tables, stroke);
          }}
          onEnd={end}
        />
      ))}
    </>
  );
}

function isSame(spot: Spot, grip: Grip): boolean {
  return spot.id === grip.id || (spot.kind === grip.kind && spot.row === grip.row);
}

/** The key that gives a held hole back to the plan. */
export function LetGo({ hole, store, onGone }: { hole: Held; store: RecordStore<SheathRecord>; onGone: () => void }) {
  if (!isHeld(hole) || placeHeld(store.tables.value, hole) === null) return null;
  return (
    <button
      type="button"
      class="quiet-key"
      onClick={() => {
        store.replace(letGo(store.tables.value, hole));
        store.lift();
        onGone();
      }}
    >
      Let chape place it again
    </button>
  );
}

export function wordsOf(hole: Held, [x, y]: Point): string {
  const place = `${length(Math.abs(x), 1)} ${x < 0 ? "beyond" : "from"} the tip, ${length(Math.abs(y), 1)} ${y < 0 ? "below" : "above"} the base line`;
  const name = hole.kind === "drain" ? "Drain" : "Eyelet";
  return isHeld(hole) ? `${name}, held: ${place}` : `${name}: ${place}`;
}
