/** The closed sheath from its front, the knife home in it, with all that can be dragged. */

import { useRef, useState } from "preact/hooks";
import { Drawing } from "../drawing/drawing";
import { type Box, boxOf, type Frame, onScreen, pathOf } from "../drawing/frame";
import { Handle } from "../drawing/handle";
import type { RecordStore } from "../state/record";
import { valueAt } from "../state/tables";
import type { Finding, Line } from "../state/types";
import { length } from "../state/units";
import { placeOf, valueOf } from "./plan_points";
import type { Hole, Plan, PlanHandle, SheathRecord } from "./types";
import { type Held, placeHeld } from "./held_holes";
import { HolePoints, LetGo, wordsOf as wordsOfHole } from "./hole_points";

interface Props {
  readonly plan: Plan;
  readonly store: RecordStore<SheathRecord>;
  readonly station: number;
  readonly onStation: (x: number) => void;
  readonly onDrag: (dragging: boolean) => void;
  readonly looked: Finding | null;
  readonly behind: boolean;
}

export function SheathPlan(props: Props) {
  const { plan, store, station, onStation, onDrag, looked, behind } = props;
  const box = useSteadyBox(plan);
  const [held, setHeld] = useState<string | null>(null);
  const [hole, setHole] = useState<Held | null>(null);
  const named = plan.handles.find((handle) => handle.path === held);
  return (
    <div class="plan-block">
      <Drawing label="Plan of the sheath" box={box} class={behind ? "is-plan is-behind" : "is-plan"}>
        {(frame) => (
        <>
          <Shapes frame={frame} plan={plan} />
          {looked?.place && <Place frame={frame} box={box} place={looked.place} />}
          <StationMark frame={frame} box={box} station={station} onStation={onStation} />
          <HolePoints
            frame={frame}
            holes={plan.holes}
            store={store}
            onDrag={onDrag}
            chosen={hole}
            onChoose={(taken) => {
              setHole(taken);
              setHeld(null);
            }}
          />
          {plan.handles.map((handle) => (
            <PlanPoint
              key={handle.path}
              frame={frame}
              handle={handle}
              store={store}
              onDrag={onDrag}
              chosen={handle.path === held}
              onChoose={() => {
                setHeld(handle.path);
                setHole(null);
              }}
            />
          ))}
        </>
      )}
      </Drawing>
      <p class="plan-note held-point" aria-live="polite">
        {hole ? (
          <>
            <strong>{wordsOfHole(hole, placeHeld(store.tables.value, hole) ?? hole.at)}</strong>
            <LetGo hole={hole} store={store} onGone={() => setHole(null)} />
          </>
        ) : named ? (
          <strong>{wordsOf(named, valueNow(store, named))}</strong>
        ) : (
          <span class="quiet">
            Drag a point, or reach it with Tab and move it with the arrow keys. Diamonds are lengths, rings
            are clips and slots; an eyelet or a drain stays where you put it. The tab above is where the
            section is taken.
          </span>
        )}
      </p>
    </div>
  );
}

function valueNow(store: RecordStore<SheathRecord>, handle: PlanHandle): number {
  const value = valueAt(store.tables.value, handle.path);
  return typeof value === "number" ? value : handle.value;
}

function wordsOf(handle: PlanHandle, value: number): string {
  if (handle.per_mm === 1) return `${handle.label}: ${length(value, 2)}`;
  return `${handle.label}: ${Math.round(100 * value)} hundredths of the way from mouth to tip`;
}

function Shapes({ frame, plan }: { frame: Frame; plan: Plan }) {
  const foot = boxOf(plan.outline)?.y0 ?? 0;
  const rims = (lines: readonly Line[]): string =>
    lines.map((line) => pathOf(frame, line, true)).join("");
  return (
    <g aria-hidden="true">
      <path class="knife-ghost" d={pathOf(frame, plan.knife, true)} />
      <path class="sheet-body" d={pathOf(frame, plan.outline, true)} />
      <path class="sheath-wall" fill-rule="evenodd" d={rims(plan.walls)} />
      <path class="knife-within" d={pathOf(frame, plan.knife, true)} />
      <path class="knife-band" fill-rule="evenodd" d={rims(plan.edge)} />
      <path class="sheath-pad" fill-rule="evenodd" d={rims(plan.pads)} />
      {plan.fold && <path class="sheath-fold" d={pathOf(frame, plan.fold)} />}
      <path class="sheath-slot" d={rims(plan.slots)} />
      {plan.ramp && <Ramp frame={frame} plan={plan} />}
      {plan.holes.map((hole) => (
        <HoleMark key={hole.id} frame={frame} hole={hole} />
      ))}
      {plan.clips.map((clip, i) => (
        <ClipMark key={i} frame={frame} points={clip.points} name={clip.name} foot={foot} row={i} />
      ))}
    </g>
  );
}

function HoleMark({ frame, hole }: { frame: Frame; hole: Hole }) {
  const [x, y] = onScreen(frame, hole.x, hole.y);
  return (
    <g class={`hole is-${hole.kind}`} data-hole={hole.id}>
      {hole.flange > hole.diameter && (
        <circle class="hole-flange" cx={x} cy={y} r={(hole.flange / 2) * frame.scale} />
      )}
      <circle class="hole-rim" cx={x} cy={y} r={(hole.diameter / 2) * frame.scale} />
    </g>
  );
}

interface ClipProps {
  readonly frame: Frame;
  readonly points: Line;
  readonly name: string;
  /** Where the sheath ends below: names stand under it, y in mm. */
  readonly foot: number;
  readonly row: number;
}

/** The holes one clip is screwed to, joined, with its name below the sheath. */
function ClipMark({ frame, points, name, foot, row }: ClipProps) {
  const box = boxOf(points);
  if (!box) return null;
  const [x, y] = onScreen(frame, (box.x0 + box.x1) / 2, Math.min(foot, box.y0));
  const [, from] = onScreen(frame, 0, box.y0);
  const low = y + 22 + 18 * row;
  return (
    <g class="clip">
      <path d={pathOf(frame, points, points.length > 2)} />
      <path d={`M${x} ${from}V${low - 13}`} />
      <text class="drawing-word" x={x} y={low} text-anchor="middle">
        {name}
      </text>
    </g>
  );
}

function Ramp({ frame, plan }: { frame: Frame; plan: Plan }) {
  const [from, to] = plan.ramp ?? [0, 0];
  const rim = plan.outline.filter(([x]) => x >= from && x <= to);
  const low = Math.min(...rim.map((point) => point[1]));
  if (!Number.isFinite(low)) return null;
  const [x0, y] = onScreen(frame, from, low);
  const [x1] = onScreen(frame, to, low);
  const lines = Array.from({ length: 5 }, (_, i) => `M${x0 + ((x1 - x0) * (i + 1)) / 6} ${y + 4}v7`);
  return <path class="ramp" d={lines.join("")} />;
}

interface PointProps {
  readonly frame: Frame;
  readonly handle: PlanHandle;
  readonly store: RecordStore<SheathRecord>;
  readonly onDrag: (dragging: boolean) => void;
  readonly chosen: boolean;
  readonly onChoose: () => void;
}

/** It goes along one line only; where the value stands now, the point stands too, long before the
 * sheath is designed anew. */
function PlanPoint({ frame, handle, store, onDrag, chosen, onChoose }: PointProps) {
  const now = valueNow(store, handle);
  const at = placeOf(handle, now);
  return (
    <Handle
      frame={frame}
      at={at}
      look={handle.path.endsWith(".along") ? "ring" : "diamond"}
      along={handle.along}
      label={wordsOf(handle, now)}
      chosen={chosen}
      onChoose={onChoose}
      onMove={(to, stroke) => {
        onDrag(true);
        store.change(handle.path, valueOf(handle, to), stroke);
      }}
      onEnd={() => {
        onDrag(false);
        store.lift();
      }}
    />
  );
}

interface StationProps {
  readonly frame: Frame;
  readonly box: Box;
  readonly station: number;
  readonly onStation: (x: number) => void;
}

/** Where the section is taken: a line one slides along the knife. */
function StationMark({ frame, box, station, onStation }: StationProps) {
  const [x, top] = onScreen(frame, station, box.y1 + 5);
  const [, foot] = onScreen(frame, station, box.y0 - 3);
  return (
    <>
      <path class="station-line" d={`M${x} ${top}V${foot}`} />
      <Handle
        frame={frame}
        at={[station, box.y1 + 5]}
        way="along"
        look="tab"
        label={`Section ${length(station, 1)} from the tip`}
        onMove={([to]) => onStation(Math.min(box.x1 - 0.5, Math.max(box.x0 + 0.5, to)))}
      />
    </>
  );
}

interface PlaceProps {
  readonly frame: Frame;
  readonly box: Box;
  readonly place: { readonly x: number; readonly y: number | null };
}

function Place({ frame, box, place }: PlaceProps) {
  if (place.y === null) {
    const [x, top] = onScreen(frame, place.x, box.y1);
    const [, foot] = onScreen(frame, place.x, box.y0);
    return <path class="place-mark is-line" d={`M${x} ${top}V${foot}`} />;
  }
  const [x, y] = onScreen(frame, place.x, place.y);
  return <circle class="place-mark" cx={x} cy={y} r="22" />;
}

/** The drawing stays put while one drags; it is fitted anew where the sheath outgrows it by 6 mm. */
function useSteadyBox(plan: Plan): Box {
  const held = useRef<Box | null>(null);
  const now = boxOf([...plan.outline, ...plan.knife]) ?? { x0: 0, y0: 0, x1: 1, y1: 1 };
  const box = held.current;
  const outgrown =
    !box ||
    Math.max(box.x0 - now.x0, now.x1 - box.x1, box.y0 - now.y0, now.y1 - box.y1) > 6;
  if (outgrown) held.current = now;
  return held.current ?? now;
}
