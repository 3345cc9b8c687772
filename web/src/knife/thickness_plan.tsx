/** The knife from above its spine: thickness along it, twice as thick as it is. */

import { Drawing } from "../drawing/drawing";
import { type Frame, onScreen, pathOf } from "../drawing/frame";
import { Handle } from "../drawing/handle";
import type { RecordStore } from "../state/record";
import { valueAt } from "../state/tables";
import type { Line } from "../state/types";
import { length } from "../state/units";
import { moveThickness, readRows } from "./stations";
import type { KnifeRecord, KnifeView } from "./types";

const STRETCH = 2;

/** From full thickness to the height the upper side is drawn at, and back. */
const drawnAt = (full: number): number => (full * STRETCH) / 2;
const readAt = (high: number): number => (high * 2) / STRETCH;

const TABLES = [
  { path: "blade.spine_thickness", word: "spine", look: "dot" },
  { path: "handle.thickness", word: "handle", look: "diamond" },
] as const;

interface Props {
  readonly store: RecordStore<KnifeRecord>;
  readonly view: KnifeView | null;
}

export function ThicknessPlan({ store, view }: Props) {
  const tables = store.tables.value;
  const read = TABLES.map((table) => ({
    ...table,
    rows: readRows(valueAt(tables, table.path), 2) as Line | null,
  }));
  const all = read.flatMap((table) => table.rows ?? []);
  if (!all.length) return <UsedOnly view={view} />;
  const longest = Math.max(...(view?.outline ?? []).map((point) => point[0]), ...all.map((row) => row[0]));
  const thickest = Math.max(...all.map((row) => row[1]), 4);
  const used = view?.used ?? null;
  const guessed = TABLES.some((table) => isGuess(view, table.path));
  const box = { x0: 0, x1: longest, y0: -drawnAt(thickest), y1: drawnAt(thickest) };
  return (
    <div class="plan-block">
      <Drawing label="Thickness along the knife" box={box} class="is-thickness">
        {(frame) => (
          <>
            <path class="axis-line" d={pathOf(frame, [[0, 0], [longest, 0]])} />
            {used && (
              <path class="knife-body is-glass" d={mirrored(frame, used)} />
            )}
            {read.map((table) =>
              table.rows ? (
                <g
                  key={table.path}
                  class={`thickness is-${table.word}${isGuess(view, table.path) ? " is-guess" : ""}`}
                >
                  <path class="thickness-line" d={mirrored(frame, table.rows)} />
                  {table.rows.map((row, i) => (
                    <Handle
                      key={i}
                      frame={frame}
                      at={[row[0], drawnAt(row[1])]}
                      look={table.look}
                      label={`Thickness of the ${table.word} ${length(row[0], 1)} from the tip: ${length(row[1], 2)}`}
                      onMove={([x, high], stroke) =>
                        store.change(
                          table.path,
                          moveThickness(table.rows ?? [], i, [x, readAt(high)], true).map((each) => [...each]),
                          stroke,
                        )
                      }
                      onEnd={() => store.lift()}
                    />
                  ))}
                </g>
              ) : null,
            )}
            <Greatest frame={frame} rows={all} />
          </>
        )}
      </Drawing>
      <p class="quiet plan-note">
        From above the spine, drawn twice as thick as it is. Round points: the spine; diamonds: the
        handle{guessed ? "; what is broken is a guess until you measure it" : ""}.
      </p>
    </div>
  );
}

function isGuess(view: KnifeView | null, path: string): boolean {
  return view?.given.some((given) => given.path === path && given.guessed) ?? false;
}

function UsedOnly({ view }: { view: KnifeView | null }) {
  const used = view?.used ?? null;
  if (!used?.length) return null;
  const longest = Math.max(...used.map((row) => row[0]));
  const high = drawnAt(Math.max(...used.map((row) => row[1]))) + 2;
  return (
    <div class="plan-block">
      <Drawing
        label="Thickness along the knife"
        box={{ x0: 0, x1: longest, y0: -high, y1: high }}
        class="is-thickness"
      >
        {(frame) => <path class="knife-body" d={mirrored(frame, used)} />}
      </Drawing>
      <p class="quiet plan-note">From above the spine, as scanned, drawn twice as thick as it is.</p>
    </div>
  );
}

function mirrored(frame: Frame, rows: Line): string {
  const upper = rows.map(([x, full]) => [x, drawnAt(full)] as const);
  const lower = [...rows].reverse().map(([x, full]) => [x, -drawnAt(full)] as const);
  return pathOf(frame, [...upper, ...lower], true);
}

/** The thickest place, with its figure. */
function Greatest({ frame, rows }: { frame: Frame; rows: Line }) {
  const [x, full] = rows.reduce((most, row) => (row[1] > most[1] ? row : most));
  const [px, top] = onScreen(frame, x, drawnAt(full));
  const [, foot] = onScreen(frame, x, -drawnAt(full));
  return (
    <g class="dimension" aria-hidden="true">
      <path d={`M${px} ${top}V${foot}`} />
      <text x={px + 8} y={(top + foot) / 2 + 5}>
        {length(full, 1)}
      </text>
    </g>
  );
}
