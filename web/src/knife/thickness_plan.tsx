/** The knife from above its spine: thickness along it, twice as thick as it is. */

import { useState } from "preact/hooks";
import { Drawing } from "../drawing/drawing";
import { type Frame, onScreen, pathOf } from "../drawing/frame";
import { Handle } from "../drawing/handle";
import type { RecordStore } from "../state/record";
import { valueAt } from "../state/tables";
import type { Line } from "../state/types";
import { length } from "../state/units";
import { addRow, dropRow, moveThickness, readRows } from "./stations";
import type { KnifeRecord, KnifeView } from "./types";
import { Unmeasured } from "./unmeasured";

const STRETCH = 2;

/** From full thickness to the height the upper side is drawn at, and back. */
const drawnAt = (full: number): number => (full * STRETCH) / 2;
const readAt = (high: number): number => (high * 2) / STRETCH;

const TABLES = [
  { path: "blade.spine_thickness", word: "spine", look: "dot" },
  { path: "handle.thickness", word: "handle", look: "diamond" },
] as const;

interface Table {
  readonly path: string;
  readonly word: string;
  readonly look: "dot" | "diamond";
  readonly rows: Line;
}

interface Chosen {
  readonly path: string;
  readonly index: number;
}

interface Props {
  readonly store: RecordStore<KnifeRecord>;
  readonly view: KnifeView | null;
}

export function ThicknessPlan({ store, view }: Props) {
  const [chosen, setChosen] = useState<Chosen | null>(null);
  const tables: readonly Table[] = TABLES.flatMap((table) => {
    const rows = readRows(valueAt(store.tables.value, table.path), 2) as Line | null;
    return rows ? [{ ...table, rows }] : [];
  });
  const all = tables.flatMap((table) => table.rows);
  const used = view?.used ?? [];
  const drawn = [...all, ...used];
  if (!drawn.length) return null;
  const longest = Math.max(...drawn.map((row) => row[0]), ...(view?.outline ?? []).map((point) => point[0]));
  const high = drawnAt(Math.max(...drawn.map((row) => row[1]), 4));
  return (
    <div class="plan-block">
      <Drawing
        label="Thickness along the knife"
        box={{ x0: 0, x1: longest, y0: -high, y1: high }}
        class="is-thickness"
      >
        {(frame) => (
          <>
            <path class="axis-line" d={pathOf(frame, [[0, 0], [longest, 0]])} />
            {used.length > 0 && (
              <path class={all.length ? "knife-body is-glass" : "knife-body"} d={mirrored(frame, used)} />
            )}
            {tables.map((table) => (
              <OneTable
                key={table.path}
                frame={frame}
                table={table}
                guessed={view?.given.some((given) => given.path === table.path && given.guessed) ?? false}
                store={store}
                chosen={chosen?.path === table.path ? chosen.index : -1}
                onChoose={(index) => setChosen({ path: table.path, index })}
              />
            ))}
            <Thickest frame={frame} rows={all.length ? all : used} />
          </>
        )}
      </Drawing>
      {all.length > 0 && <TableKeys tables={tables} chosen={chosen} store={store} />}
      <p class="quiet plan-note">
        {all.length > 0
          ? "From above the spine, drawn twice as thick as it is. Round points: the spine; diamonds: the handle."
          : "From above the spine, as scanned, drawn twice as thick as it is."}
      </p>
      <Unmeasured store={store} />
    </div>
  );
}

interface TableProps {
  readonly frame: Frame;
  readonly table: Table;
  readonly guessed: boolean;
  readonly store: RecordStore<KnifeRecord>;
  readonly chosen: number;
  readonly onChoose: (index: number) => void;
}

function OneTable({ frame, table, guessed, store, chosen, onChoose }: TableProps) {
  const { path, word, look, rows } = table;
  return (
    <g class={`thickness is-${word}${guessed ? " is-guess" : ""}`}>
      <path class="thickness-line" d={mirrored(frame, rows)} />
      {rows.map((row, i) => (
        <Handle
          key={i}
          frame={frame}
          at={[row[0], drawnAt(row[1])]}
          look={look}
          chosen={i === chosen}
          label={`Thickness of the ${word} ${length(row[0], 1)} from the tip: ${length(row[1], 2)}`}
          onChoose={() => onChoose(i)}
          onMove={([x, up], stroke) =>
            store.change(path, plain(moveThickness(rows, i, [x, readAt(up)], true)), stroke)
          }
          onEnd={() => store.lift()}
        />
      ))}
    </g>
  );
}

interface KeysProps {
  readonly tables: readonly Table[];
  readonly chosen: Chosen | null;
  readonly store: RecordStore<KnifeRecord>;
}

function TableKeys({ tables, chosen, store }: KeysProps) {
  const table = tables.find((each) => each.path === chosen?.path);
  const index = chosen?.index ?? -1;
  const row = table?.rows[index];
  const inside = table !== undefined && index > 0 && index < table.rows.length - 1;
  return (
    <div class="plan-keys">
      <button
        type="button"
        class="quiet-key"
        disabled={!table}
        onClick={() => table && store.change(table.path, plain(addRow(table.rows, index)))}
      >
        Add a place behind
      </button>
      <button
        type="button"
        class="quiet-key"
        disabled={!inside}
        onClick={() => table && store.change(table.path, plain(dropRow(table.rows, index)))}
      >
        Take this one out
      </button>
      {table && row && (
        <span aria-live="polite">
          {length(row[0], 1)} from the tip the {table.word} is {length(row[1], 2)} thick
        </span>
      )}
    </div>
  );
}

function plain(rows: Line): number[][] {
  return rows.map((row) => [...row]);
}

function mirrored(frame: Frame, rows: Line): string {
  const upper = rows.map(([x, full]) => [x, drawnAt(full)] as const);
  const lower = [...rows].reverse().map(([x, full]) => [x, -drawnAt(full)] as const);
  return pathOf(frame, [...upper, ...lower], true);
}

/** The thickest place, with its figure. */
function Thickest({ frame, rows }: { frame: Frame; rows: Line }) {
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
