/** The points one drags: both ends of every station, or places along a drawn outline. */

import { useMemo } from "preact/hooks";
import type { Frame } from "../drawing/frame";
import { Handle } from "../drawing/handle";
import type { RecordStore } from "../state/record";
import type { Line } from "../state/types";
import { length } from "../state/units";
import { everySo, moveStation, pulled, type Row, spaced } from "./stations";
import type { KnifeRecord } from "./types";

interface StationProps {
  readonly frame: Frame;
  readonly rows: readonly Row[];
  readonly chosen: number;
  readonly onChoose: (index: number) => void;
  readonly store: RecordStore<KnifeRecord>;
}

/** Pixels between stations that can both be taken hold of: more for a finger than for a mouse. */
function leastApart(): number {
  return matchMedia("(pointer: coarse)").matches ? 20 : 8;
}

export function StationPoints({ frame, rows, chosen, onChoose, store }: StationProps) {
  const shown = spaced(rows, leastApart() / frame.scale, chosen);
  return (
    <>
      {rows.map((row, i) => {
        if (!shown.has(i)) return null; // comes when the drawing is brought nearer
        const pointed = row[1] === row[2];
        const sides = pointed ? (["edge"] as const) : (["edge", "spine"] as const);
        return sides.map((side) => (
          <Handle
            key={`${i} ${side}`}
            frame={frame}
            at={[row[0], side === "edge" ? row[1] : row[2]]}
            way={i === 0 ? "across" : "both"}
            chosen={i === chosen}
            label={`Station ${i + 1}, ${pointed ? "both sides" : `${side} side`}: ${length(row[0], 1)} from the tip, ${length(side === "edge" ? row[1] : row[2], 2)} up`}
            onChoose={() => onChoose(i)}
            onMove={(to, stroke) =>
              store.change(
                "outline.stations",
                moveStation(rows, i, side, to).map((each) => [...each]),
                stroke,
              )
            }
            onEnd={() => store.lift()}
          />
        ));
      })}
    </>
  );
}

interface DrawnProps {
  readonly frame: Frame;
  readonly line: Line;
  readonly reach: number;
  readonly store: RecordStore<KnifeRecord>;
}

/** Pixels between two points of a drawn outline: near enough to take the right one. */
const PITCH = 34;

export function DrawnPoints({ frame, line, reach, store }: DrawnProps) {
  const places = useMemo(
    () => everySo(line, PITCH / frame.scale),
    // Which corners carry a point stays while the outline is dragged.
    [line.length, frame.scale],
  );
  return (
    <>
      {places.map((i) => {
        const point = line[i];
        if (!point) return null;
        return (
          <Handle
            key={i}
            frame={frame}
            at={point}
            label={`Outline ${length(point[0], 1)} from the tip, ${length(point[1], 2)} up`}
            onMove={(to, stroke) => store.changeOutline(pulled(line, i, to, reach), stroke)}
            onEnd={() => store.lift()}
          />
        );
      })}
    </>
  );
}
