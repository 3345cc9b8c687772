/** The readings of a sheath: what is seen at a glance, and the exact ones as they come. */

import { Reading } from "../parts/reading";
import { valueAt } from "../state/tables";
import type { Tables } from "../state/types";
import { area, length } from "../state/units";
import type { Exact, Figures, Preview } from "./types";

interface Props {
  readonly preview: Preview;
  readonly exact: Exact | null;
  readonly running: boolean;
  readonly tables: Tables;
  readonly behind: boolean;
}

export function SheathFigures({ preview, exact, running, tables, behind }: Props) {
  const { figures } = preview;
  const number = numbersOf(figures);
  const margin = setting(tables, "fit.edge_margin") ?? 0.3;
  const least = number("least_clearance");
  const edge = number("edge_clearance");
  const use = number("blank_use");
  const exactNote = exact?.current ? "exact" : running ? "being worked out" : "for earlier settings";
  return (
    <dl class="readings sheath-readings" aria-live="polite" aria-busy={behind}>
      <Reading
        label="Least clearance"
        value={length(least, 2)}
        share={ratio(least, 1)}
        limit={0}
        mood={least !== null && least < 0 ? "stop" : "good"}
        note="knife at home"
      />
      <Reading
        label="Clear of the edge"
        value={length(edge, 2)}
        share={ratio(edge, 3 * margin)}
        limit={1 / 3}
        mood={edge !== null && edge < margin ? "stop" : "good"}
        note={`all along the draw; ${length(margin, 2)} at least`}
      />
      <Hold tables={tables} note={exact ? exactNote : waitWord(running)} exact={exact} />
      <Reading
        label="Play"
        value={length(exact?.fit.play.rattle, 2)}
        note={exact ? exactNote : waitWord(running)}
      />
      <Reading label="Mass" value={grams(number("mass"))} note="of the sheet" />
      <Reading
        label="Of the blank"
        value={use === null ? "–" : `${Math.round(100 * use)} %`}
        share={use}
        limit={1}
        mood={use !== null && use > 1 ? "stop" : "plain"}
        note={`${number("copies") ?? 1} of ${area(number("flat_area"))}`}
      />
      <Reading label="Length" value={length(number("length"), 1)} note={`${number("holes") ?? 0} holes a half`} />
    </dl>
  );
}

interface HoldProps {
  readonly tables: Tables;
  readonly note: string;
  readonly exact: Exact | null;
}

/** What it takes to draw the knife, against what was asked for. */
function Hold({ tables, note, exact }: HoldProps) {
  const wanted = setting(tables, "fit.hold");
  const band = setting(tables, "fit.hold_band") ?? 0.25;
  const hold = exact?.fit.hold ?? null;
  const off = wanted !== null && hold !== null && Math.abs(hold - wanted) > band * wanted;
  // A hold of earlier settings says nothing good or bad of these.
  const mood = !exact?.current || hold === null ? "plain" : off ? "stop" : "good";
  const asked = wanted === null ? "" : `; ${wanted} N asked for`;
  return (
    <Reading
      label="Hold"
      value={hold === null ? "–" : `${hold.toFixed(0)} N`}
      share={hold === null || wanted === null ? null : hold / (2 * wanted)}
      limit={wanted === null ? null : 0.5}
      mood={mood}
      note={note + asked}
    />
  );
}

function waitWord(running: boolean): string {
  return running ? "being worked out" : "not worked out yet";
}

function numbersOf(figures: Figures): (key: string) => number | null {
  return (key) => {
    const value = figures[key];
    return typeof value === "number" && Number.isFinite(value) ? value : null;
  };
}

export function setting(tables: Tables, path: string): number | null {
  const value = valueAt(tables, path);
  return typeof value === "number" ? value : null;
}

function ratio(value: number | null, most: number): number | null {
  return value === null ? null : value / most;
}

function grams(mass: number | null): string {
  return mass === null ? "–" : `${mass.toFixed(0)} g`;
}
