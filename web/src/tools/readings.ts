/** The figures that belong to each thing, read from those of the job. */

import { figureAt } from "../state/job";
import { bareLength, length } from "../state/units";
import type { ThingName } from "./things";

export interface Told {
  readonly label: string;
  readonly value: string;
}

type Entry = readonly [label: string, value: (figures: unknown) => string | null];

const mm = (places: number, ...names: string[]) => (figures: unknown): string | null => {
  const found = figureAt(figures, ...names);
  return found === null ? null : length(found, places);
};

const count = (...names: string[]) => (figures: unknown): string | null => {
  const found = figureAt(figures, ...names);
  return found === null ? null : String(found);
};

/** A thickness that the figures tell as a share of the gauge. */
const ofGauge = (name: string) => (figures: unknown): string | null => {
  const [share, gauge] = [figureAt(figures, "forming", "drape", name), figureAt(figures, "sheath", "gauge")];
  return share === null || gauge === null ? null : length(share * gauge, 2);
};

const by = (group: string) => (figures: unknown): string | null => {
  const [width, depth] = [figureAt(figures, group, "width"), figureAt(figures, group, "depth")];
  return width === null || depth === null ? null : `${bareLength(width, 0)} × ${length(depth, 0)}`;
};

const ENTRIES: Record<ThingName, readonly Entry[]> = {
  mould: [
    ["Plate", by("mould")],
    ["Plate, thickness", mm(1, "mould", "plate_thickness")],
    ["Stands above the flanges", mm(1, "mould", "highest")],
    ["Vents", count("mould", "vents")],
    ["Grooves at the back", count("mould", "grooves")],
    ["Most left on", mm(2, "programs", "mould-top", "leftover_most")],
    ["Cut too deep, at most", mm(3, "programs", "mould-top", "gouge_most")],
  ],
  blank: [
    ["Blank", by("blank")],
    ["Sheaths on it", count("blank", "copies")],
    ["Thinnest, but for one part in a hundred", ofGauge("thinnest")],
    ["Thinnest anywhere", ofGauge("least")],
    ["Sheet", mm(1, "sheath", "gauge")],
  ],
  fixture: [
    ["Plate", by("fixture")],
    ["Plate, thickness", mm(1, "fixture", "plate_thickness")],
    ["Threaded inserts", count("fixture", "inserts")],
    ["Pins", count("fixture", "pins")],
    ["Most left on", mm(2, "programs", "fixture", "leftover_most")],
    ["Cut too deep, at most", mm(3, "programs", "fixture", "gouge_most")],
  ],
  sheath: [
    ["Edge, least room on the whole way", mm(2, "fit", "edge", "least")],
    ["Highest wall", mm(1, "sheath", "highest_wall")],
    ["Room at the blade's flats", mm(2, "sheath", "clearance_blade")],
    ["Snap depth", mm(2, "sheath", "snap_depth")],
    ["Eyelets", count("sheath", "holes", "eyelet")],
  ],
  knife: [
    ["Length", mm(0, "knife", "length")],
    ["Blade", mm(0, "knife", "blade_length")],
    ["Thickest", mm(1, "knife", "thickness")],
    ["Measured within", mm(2, "knife", "uncertainty")],
  ],
};

export function readingsOf(thing: ThingName, figures: unknown): Told[] {
  return ENTRIES[thing].flatMap(([label, value]) => {
    const told = value(figures);
    return told === null ? [] : [{ label, value: told }];
  });
}
