/** A sheath as the bench shows it. All in the knife's frame, mm: x from the tip towards the butt, y
 * towards the spine, z off the mid-plane.
 */

import type { Seen } from "../state/live";
import type { Finding, Kept, Line, Point, Problem } from "../state/types";

export interface SheathRecord extends Kept {
  readonly title: string;
  readonly knife: string | null;
  readonly problem: Problem | null;
}

/** Something to drag: a millimetre `along` its way changes the value at `path` by `per_mm`. */
export interface PlanHandle {
  readonly path: string;
  readonly label: string;
  readonly x: number;
  readonly y: number;
  readonly along: Point;
  readonly per_mm: number;
  readonly value: number;
}

export interface Hole {
  readonly id: string;
  readonly kind: "eyelet" | "clip" | "drain";
  readonly x: number;
  readonly y: number;
  readonly diameter: number;
  readonly flange: number;
  /** Which row of the file holds it; null where it was planned. */
  readonly held: number | null;
}

export interface Plan {
  readonly outline: Line;
  readonly walls: readonly Line[];
  readonly knife: Line;
  readonly edge: readonly Line[];
  readonly fold: readonly [Point, Point] | null;
  readonly holes: readonly Hole[];
  readonly slots: readonly Line[];
  readonly clips: readonly {
    readonly name: string;
    readonly half: string;
    readonly points: Line;
    readonly astray: number;
  }[];
  readonly mouth: number;
  readonly pads: readonly Line[];
  readonly ramp: Point | null;
  readonly handles: readonly PlanHandle[];
}

export interface Section {
  readonly x: number;
  readonly knife: Line;
  readonly sheet: readonly Line[];
  readonly dimensions: readonly {
    readonly start: Point;
    readonly end: Point;
    readonly value: number;
    readonly label: string;
  }[];
}

export type Figures = Readonly<Record<string, number | string | boolean | null>>;

export interface Preview extends Seen {
  readonly seconds: number;
  /** Its holes are the last plan's, carried along. */
  readonly carried?: boolean;
  readonly figures: Figures;
  readonly plan: Plan;
  readonly section: Section | null;
  readonly findings: readonly Finding[];
}

/** How far the knife was drawn or pushed, mm, and the force, N. */
export interface ForceCurve {
  readonly travel: readonly number[];
  readonly pull: readonly (number | null)[];
  readonly push: readonly (number | null)[];
}

export interface Exact {
  readonly key: string;
  readonly current: boolean;
  readonly figures: Figures;
  readonly findings: readonly Finding[];
  /** As "fit" in a job's figures.json. */
  readonly fit: {
    readonly hold: number | null;
    readonly hold_least: number | null;
    readonly hold_most: number | null;
    readonly asked: number | null;
    readonly snap_depth: number;
    readonly play: { readonly rattle: number | null };
    readonly edge: { readonly least: number };
    readonly curve: ForceCurve;
    /** Of so many knives of this kind, the share whose hold is within the band. */
    readonly share: { readonly knives: number; readonly passing: number } | null;
  };
}
