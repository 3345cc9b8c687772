/** Where one looks from: turned about the point looked at, never upside down. All pure. */

import type { Box } from "./buffers";

export type Vec = readonly [number, number, number];

/** Angles in radians, lengths in mm. At elevation 90 degrees one looks straight down. */
export interface Look {
  readonly azimuth: number;
  readonly elevation: number;
  readonly distance: number;
  readonly target: Vec;
}

export interface Axes {
  readonly right: Vec;
  readonly up: Vec;
  /** From the point looked at towards the eye. */
  readonly back: Vec;
}

const QUARTER = Math.PI / 2;
/** Room left around what is shown, as a share. */
const ROOM = 1.08;

export function axesOf({ azimuth, elevation }: Pick<Look, "azimuth" | "elevation">): Axes {
  const [ca, sa, ce, se] = [Math.cos(azimuth), Math.sin(azimuth), Math.cos(elevation), Math.sin(elevation)];
  return { right: [-sa, ca, 0], up: [-se * ca, -se * sa, ce], back: [ce * ca, ce * sa, se] };
}

export function turned(look: Look, azimuth: number, elevation: number): Look {
  const bounded = Math.min(QUARTER, Math.max(-QUARTER, look.elevation + elevation));
  const full = 2 * Math.PI;
  const around = (((look.azimuth + azimuth) % full) + full) % full;
  return { ...look, azimuth: around, elevation: bounded };
}

/** Come nearer (share below 1) or go back, between a hundredth and ten times a size in mm. */
export function nearer(look: Look, share: number, size: number): Look {
  const distance = Math.min(10 * size, Math.max(size / 100, look.distance * share));
  return { ...look, distance };
}

/** Move what is looked at, by shares of the picture's height. */
export function moved(look: Look, right: number, up: number, angle: number): Look {
  const height = 2 * look.distance * Math.tan(angle / 2);
  const axes = axesOf(look);
  const target = [0, 1, 2].map(
    (i) => (look.target[i] as number) + height * (right * (axes.right[i] as number) + up * (axes.up[i] as number)),
  );
  return { ...look, target: target as unknown as Vec };
}

/**
 * Look at a whole box from a side.
 *
 * @param angle of view from bottom to top, radians
 * @param aspect width of the picture by its height
 */
export function fitted(box: Box, azimuth: number, elevation: number, angle: number, aspect: number): Look {
  const target = [0, 1, 2].map((i) => ((box[i] as number) + (box[i + 3] as number)) / 2) as unknown as Vec;
  const axes = axesOf({ azimuth, elevation });
  const tall = Math.tan(angle / 2);
  let distance = 1;
  for (let corner = 0; corner < 8; corner += 1) {
    const from = [0, 1, 2].map(
      (i) => (box[(corner >> i) & 1 ? i + 3 : i] as number) - (target[i] as number),
    ) as unknown as Vec;
    const depth = dot(from, axes.back);
    const needed = Math.max(Math.abs(dot(from, axes.up)) / tall, Math.abs(dot(from, axes.right)) / (tall * aspect));
    distance = Math.max(distance, depth + needed * ROOM);
  }
  return { azimuth, elevation, distance, target };
}

/** The greatest side of a box, mm; at least 1. */
export function sizeOf(box: Box): number {
  return Math.max(1, box[3] - box[0], box[4] - box[1], box[5] - box[2]);
}

export function around(boxes: readonly Box[]): Box | null {
  if (boxes.length === 0) return null;
  return [0, 1, 2, 3, 4, 5].map((i) =>
    (i < 3 ? Math.min : Math.max)(...boxes.map((box) => box[i] as number)),
  ) as unknown as Box;
}

function dot(a: Vec, b: Vec): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
