/** The knife from the side, over its photograph where there is one. */

import { useEffect, useState } from "preact/hooks";
import { Drawing } from "../drawing/drawing";
import { type Box, boxOf, type Frame, onScreen, pathOf } from "../drawing/frame";
import { Handle, stepWords } from "../drawing/handle";
import type { RecordStore } from "../state/record";
import { tidy, valueAt } from "../state/tables";
import type { Finding, Line } from "../state/types";
import { length } from "../state/units";
import { DrawnPoints, StationPoints } from "./points";
import { addRow, drawnThrough, dropRow, stationsOf } from "./stations";
import type { KnifeRecord, KnifeView, Landmark, Photo } from "./types";

interface Props {
  readonly store: RecordStore<KnifeRecord>;
  readonly view: KnifeView | null;
  /** What is seen is older than what is set. */
  readonly behind: boolean;
  readonly looked: Finding | null;
}

/** How far along the outline a pull reaches, mm. */
const REACHES = [3, 10, 30] as const;

export function OutlinePlan({ store, view, behind, looked }: Props) {
  const [chosen, setChosen] = useState(-1);
  const [reach, setReach] = useState<number>(10);
  const [photo, setPhoto] = useState(true);
  const tables = store.tables.value;
  const rows = stationsOf(tables);
  const drawn = store.outline.value;
  const fresh = view !== null && !behind;
  const line: Line = drawn ?? (fresh || !rows ? (view?.outline ?? []) : drawnThrough(rows));
  const box = useSteadyBox(line);
  if (!box) return <p class="quiet">There is no outline to show.</p>;
  const under = photo ? (view?.photo ?? null) : null;
  return (
    <div class="plan-block">
      <Drawing label="The knife from the side" box={box} class="is-outline">
        {(frame) => (
          <>
            {under && <PhotoUnder frame={frame} photo={under} />}
            <path class={under ? "knife-body is-line over-photo" : "knife-body"} d={pathOf(frame, line, true)} />
            {fresh && (
              <path
                class="knife-band"
                fill-rule="evenodd"
                d={view.edge.map((rim) => pathOf(frame, rim, true)).join("")}
              />
            )}
            <Landmarks frame={frame} box={box} store={store} marks={view?.landmarks ?? []} />
            {rows && (
              <StationPoints frame={frame} rows={rows} chosen={chosen} onChoose={setChosen} store={store} />
            )}
            {drawn && <DrawnPoints frame={frame} line={drawn} reach={reach} store={store} />}
            {looked?.place && (
              <PlaceMark frame={frame} x={looked.place.x} y={looked.place.y ?? (box.y0 + box.y1) / 2} />
            )}
          </>
        )}
      </Drawing>
      <div class="plan-keys">
        {rows && (
          <>
            <button
              type="button"
              class="quiet-key"
              disabled={chosen < 0}
              onClick={() => store.change("outline.stations", addRow(rows, chosen).map((row) => [...row]))}
            >
              Add a station behind
            </button>
            <button
              type="button"
              class="quiet-key"
              disabled={chosen <= 0 || chosen >= rows.length - 1}
              onClick={() => store.change("outline.stations", dropRow(rows, chosen).map((row) => [...row]))}
            >
              Take this one out
            </button>
          </>
        )}
        {drawn && (
          <fieldset class="reach">
            <legend>A pull reaches</legend>
            {REACHES.map((each) => (
              <button
                key={each}
                type="button"
                class="quiet-key"
                aria-pressed={reach === each}
                onClick={() => setReach(each)}
              >
                {length(each, 0)}
              </button>
            ))}
          </fieldset>
        )}
        {view?.photo && (
          <label class="field-flag">
            <input
              type="checkbox"
              checked={photo}
              onChange={(event) => setPhoto(event.currentTarget.checked)}
            />
            over the photograph
          </label>
        )}
        <span class="quiet" aria-live="polite">
          {rows && chosen >= 0 && rows[chosen]
            ? `Station ${chosen + 1} of ${rows.length}: ${length(rows[chosen][0], 1)} from the tip, ${length(rows[chosen][2] - rows[chosen][1], 2)} wide`
            : `Drag a point, or reach it with Tab and move it with the arrow keys: ${stepWords()}.`}
        </span>
      </div>
    </div>
  );
}

/** The drawing does not jump about while the outline is dragged: it is fitted anew only where the
 * outline outgrows it. */
function useSteadyBox(line: Line): Box | null {
  const [box, setBox] = useState<Box | null>(null);
  const now = boxOf(line);
  if (!now) return box;
  const outgrown =
    !box || now.x0 < box.x0 - 5 || now.x1 > box.x1 + 5 || now.y0 < box.y0 - 5 || now.y1 > box.y1 + 5;
  if (outgrown) {
    setBox(now);
    return now;
  }
  return box;
}

function PhotoUnder({ frame, photo }: { frame: Frame; photo: Photo }) {
  const pixels = usePixels(photo.url);
  if (!pixels) return null;
  const [x, y] = onScreen(frame, photo.left, photo.top);
  const each = photo.mm_per_pixel * frame.scale;
  return (
    <image
      href={photo.url}
      x={x}
      y={y}
      width={pixels.width * each}
      height={pixels.height * each}
      preserveAspectRatio="none"
    />
  );
}

/** How many pixels a picture has, once it has come. */
function usePixels(url: string): { readonly width: number; readonly height: number } | null {
  const [pixels, setPixels] = useState<{ width: number; height: number } | null>(null);
  useEffect(() => {
    const picture = new Image();
    picture.onload = () => setPixels({ width: picture.naturalWidth, height: picture.naturalHeight });
    picture.src = url;
    return () => {
      picture.onload = null;
    };
  }, [url]);
  return pixels;
}

interface LandmarkProps {
  readonly frame: Frame;
  readonly box: Box;
  readonly store: RecordStore<KnifeRecord>;
  readonly marks: readonly Landmark[];
}

/** Places with a name: those the file says are moved along the knife. */
function Landmarks({ frame, box, store, marks }: LandmarkProps) {
  let row = 0;
  return (
    <>
      {marks.map((mark) => {
        const { path, label } = mark;
        if (path === null) return null; // tip and butt are plain to see
        const value = valueAt(store.tables.value, path);
        const told = typeof value === "number" ? value : mark.x; // found, where the file says none
        // One above the other: where the blade ends a guard often begins.
        const y = box.y1 + (14 + 25 * row) / frame.scale;
        row += 1;
        const [px, top] = onScreen(frame, told, y);
        const [, foot] = onScreen(frame, told, box.y0 - 2);
        return (
          <g key={label}>
            <path class="faint-line" d={`M${px} ${top}V${foot}`} />
            <text class="drawing-word" x={px + 14} y={top + 4}>
              {label}
            </text>
            <Handle
              frame={frame}
              at={[told, y]}
              way="along"
              look="tab"
              label={`${label}: ${length(told, 1)} from the tip`}
              onMove={([to], stroke) => moveLandmark(store, path, told, tidy(Math.max(to, 1)), stroke)}
              onEnd={() => store.lift()}
            />
          </g>
        );
      })}
    </>
  );
}

/** With the blade's end go the rows of both thickness tables that stood there. */
function moveLandmark(
  store: RecordStore<KnifeRecord>,
  path: string,
  from: number,
  to: number,
  stroke: string,
): void {
  store.change(path, to, stroke);
  if (path !== "blade.length") return;
  for (const table of ["blade.spine_thickness", "handle.thickness"]) {
    const rows = valueAt(store.tables.value, table);
    if (!Array.isArray(rows)) continue;
    const at = rows.findIndex((row: unknown) => Array.isArray(row) && row[0] === from);
    const [before, after] = [rows[at - 1], rows[at + 1]] as (readonly number[] | undefined)[];
    if (at < 0 || (before && before[0]! >= to) || (after && after[0]! <= to)) continue;
    store.change(`${table}.${at}.0`, to, stroke);
  }
}

function PlaceMark({ frame, x, y }: { frame: Frame; x: number; y: number }) {
  const [px, py] = onScreen(frame, x, y);
  return <circle class="place-mark" cx={px} cy={py} r="20" />;
}
