/** The things one can look at here, in the order they are made. */

import { type Spot, spotOf } from "../state/spots";
import type { Finding } from "../state/types";
import type { Shade } from "./shades";
import { BOARD_VIEWS, KNIFE_VIEWS, type View } from "../three/views";

export type ThingName = "knife" | "sheath" | "mould" | "blank" | "fixture";

export interface Thing {
  readonly name: ThingName;
  readonly words: string;
  readonly says: string;
  readonly views: readonly View[];
  readonly clay: string;
  /** What it can be coloured by, the most telling first. */
  readonly shades: readonly Shade[];
  /** What belongs in it or under it, to be shown together. */
  readonly other: { readonly name: ThingName; readonly words: string; readonly clay: string } | null;
}

/** What is seen on the stand. */
export interface Seen {
  readonly thing: Thing;
  readonly shade: Shade | null;
  /** Where a pin stands, mm. */
  readonly pin: Spot["at"];
  /** Whether what belongs to it is shown too. */
  readonly together: boolean;
}

/** A thing as it is first put on the stand. */
export function plain(thing: Thing): Seen {
  return { thing, shade: null, pin: null, together: false };
}

export const THINGS: readonly Thing[] = [
  {
    name: "mould",
    words: "Mould",
    says: "What the hot sheet is drawn over",
    views: BOARD_VIEWS,
    clay: "--clay-mould",
    shades: ["leftover"],
    other: null,
  },
  {
    name: "blank",
    words: "Formed blank",
    says: "The sheet as it comes off the mould",
    views: BOARD_VIEWS,
    clay: "--clay-sheet",
    shades: ["thickness"],
    other: { name: "mould", words: "On its mould", clay: "--clay-mould" },
  },
  {
    name: "fixture",
    words: "Trim fixture",
    says: "What the blank lies on while it is trimmed",
    views: BOARD_VIEWS,
    clay: "--clay-board",
    shades: ["leftover"],
    other: null,
  },
  {
    name: "sheath",
    words: "Sheath",
    says: "Closed, as it is carried",
    views: KNIFE_VIEWS,
    clay: "--clay-sheet",
    shades: ["clearance", "thickness"],
    other: { name: "knife", words: "With its knife", clay: "--clay-steel" },
  },
  {
    name: "knife",
    words: "Knife",
    says: "As it was measured",
    views: KNIFE_VIEWS,
    clay: "--clay-steel",
    shades: ["clearance"],
    other: null,
  },
];

/** Where a finding lies on a thing, mm; null: nowhere one could stick a pin. */
export function placeOn({ name }: Thing, finding: Finding): Spot["at"] {
  // The second side is cut turned over: its places are not those of the mould as it lies here.
  if (finding.where?.startsWith("mould-back")) return null;
  if (name !== "sheath" && name !== "knife") return spotOf(finding)?.at ?? null;
  const { place } = finding;
  return place ? [place.x, place.y ?? 0, null] : null;
}
