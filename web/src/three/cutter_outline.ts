/** The outline of a cutter in its holder, from the tip up: what is spun to draw it. */

import type { Cutter } from "./preview";

/** Radius and height above the tip, mm. */
export type OutlinePoint = readonly [number, number];

export interface CutterOutline {
  /** What cuts. */
  readonly flutes: readonly OutlinePoint[];
  /** Shank and holder, above it. */
  readonly shank: readonly OutlinePoint[];
}

const ARC_STEPS = 12;
/** A holder is drawn this high; how high it really is nobody says. */
const HOLDER_HEIGHT = 25;

export function cutterOutline(cutter: Cutter): CutterOutline {
  const radius = cutter.diameter / 2;
  const tip = tipOf(cutter);
  const top = Math.max(cutter.fluteLength, (tip[tip.length - 1] as OutlinePoint)[1]);
  const neck = Math.max(cutter.stickOut, top);
  const shank = cutter.shank > 0 ? cutter.shank / 2 : radius;
  const holder = cutter.holder > 0 ? cutter.holder / 2 : shank;
  return {
    flutes: [...tip, [radius, top], [0, top]],
    shank: [
      [0, top],
      [shank, top],
      [shank, neck],
      [holder, neck],
      [holder, neck + HOLDER_HEIGHT],
      [0, neck + HOLDER_HEIGHT],
    ],
  };
}

function tipOf(cutter: Cutter): OutlinePoint[] {
  const radius = cutter.diameter / 2;
  const half = ((cutter.pointAngle / 2) * Math.PI) / 180;
  switch (cutter.kind) {
    case "ball":
      return arc(0, radius, radius, 90);
    case "bull-nose":
      return [[0, 0], ...arc(radius - cutter.corner, cutter.corner, cutter.corner, 90)];
    case "tapered ball": {
      // The ball runs into the cone where both have the cone's slope.
      const ball = arc(0, cutter.corner, cutter.corner, 90 - cutter.pointAngle / 2);
      const [x, y] = ball[ball.length - 1] as OutlinePoint;
      return [...ball, [radius, y + (radius - x) / Math.tan(half)]];
    }
    case "drill":
    case "vee":
      return [
        [0, 0],
        [radius, radius / Math.tan(half)],
      ];
    case "flat":
      return [
        [0, 0],
        [radius, 0],
      ];
  }
}

/** An arc about (x, y) from straight down towards straight out, as far as an angle in degrees. */
function arc(x: number, y: number, radius: number, until: number): OutlinePoint[] {
  return Array.from({ length: ARC_STEPS + 1 }, (_, i) => {
    const angle = ((until * i) / ARC_STEPS) * (Math.PI / 180);
    return [x + radius * Math.sin(angle), y - radius * Math.cos(angle)] as const;
  });
}
