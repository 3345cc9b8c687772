/** Sides one looks from, in a maker's words, for things that lie in the knife's frame or the blank's. */

export interface View {
  readonly words: string;
  readonly azimuth: number;
  readonly elevation: number;
}

const degrees = (value: number): number => (value * Math.PI) / 180;

const view = (words: string, azimuth: number, elevation: number): View => ({
  words,
  azimuth: degrees(azimuth),
  elevation: degrees(elevation),
});

/** x runs from the tip to the butt, y towards the spine, z across the blade. */
export const KNIFE_VIEWS: readonly View[] = [
  view("Slantwise", -62, 38),
  view("From above", -90, 90),
  view("Edge side", -90, 0),
  view("Spine side", 90, 0),
  view("Along the knife", 180, 0),
  view("Mouth", 0, 8),
];

/** x and y along the blank's edges, z up. */
export const BOARD_VIEWS: readonly View[] = [
  view("Slantwise", -62, 38),
  view("From above", -90, 90),
  view("From the front", -90, 0),
  view("From the left", 180, 0),
  view("From below", -90, -90),
];
