/** How millimetres lie on the screen: x to the right, y up. */

export interface Frame {
  /** Pixels per millimetre. */
  readonly scale: number;
  /** Where the millimetre origin lies, in pixels from the upper left corner. */
  readonly left: number;
  readonly top: number;
}

export interface Box {
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
}

export interface Size {
  readonly width: number;
  readonly height: number;
}

export interface Kept {
  readonly right: number;
  readonly foot: number;
}

const NONE_KEPT: Kept = { right: 0, foot: 0 };

const NEAREST = 200; // pixels per mm: a hair fills the screen
const FURTHEST = 0.05;

/** Fits a box into a drawing; `kept` is left free at the right and the foot, for keys, in pixels. */
export function fit(box: Box, size: Size, margin = 36, kept = NONE_KEPT): Frame {
  const wide = Math.max(box.x1 - box.x0, 1);
  const high = Math.max(box.y1 - box.y0, 1);
  const room = {
    width: Math.max(size.width - 2 * margin - kept.right, 40),
    height: Math.max(size.height - 2 * margin - kept.foot, 40),
  };
  const scale = Math.min(room.width / wide, room.height / high);
  return {
    scale,
    left: (size.width - kept.right) / 2 - (scale * (box.x0 + box.x1)) / 2,
    top: (size.height - kept.foot) / 2 + (scale * (box.y0 + box.y1)) / 2,
  };
}

/** Nearer (above 1) or further, while what lies under one pixel stays there. */
export function zoomed(frame: Frame, factor: number, px: number, py: number): Frame {
  const scale = Math.min(NEAREST, Math.max(FURTHEST, frame.scale * factor));
  const real = scale / frame.scale;
  return {
    scale,
    left: px - (px - frame.left) * real,
    top: py - (py - frame.top) * real,
  };
}

export function moved(frame: Frame, dx: number, dy: number): Frame {
  return { ...frame, left: frame.left + dx, top: frame.top + dy };
}

export function onScreen(frame: Frame, x: number, y: number): readonly [number, number] {
  return [frame.left + frame.scale * x, frame.top - frame.scale * y];
}

export function inMillimetres(frame: Frame, px: number, py: number): readonly [number, number] {
  return [(px - frame.left) / frame.scale, (frame.top - py) / frame.scale];
}

/** A line through points, as an SVG path in pixels. */
export function pathOf(
  frame: Frame,
  points: readonly (readonly [number, number])[],
  closed = false,
): string {
  let text = "";
  for (const [x, y] of points) {
    const [px, py] = onScreen(frame, x, y);
    text += `${text ? "L" : "M"}${px.toFixed(1)} ${py.toFixed(1)}`;
  }
  return closed && text ? `${text}Z` : text;
}

export function boxOf(points: Iterable<readonly [number, number]>): Box | null {
  let box: Box | null = null;
  for (const [x, y] of points) {
    if (!Number.isFinite(x) || !Number.isFinite(y)) continue;
    box = box
      ? {
          x0: Math.min(box.x0, x),
          y0: Math.min(box.y0, y),
          x1: Math.max(box.x1, x),
          y1: Math.max(box.y1, y),
        }
      : { x0: x, y0: y, x1: x, y1: y };
  }
  return box;
}

/** A round length, in the unit shown, that takes up at most so many pixels and at least two fifths
 * of them: for the scale bar. */
export function roundLength(scale: number, mmPerUnit: number, pixels = 150): number {
  const wanted = pixels / (scale * mmPerUnit);
  const power = 10 ** Math.floor(Math.log10(wanted));
  const step = [5, 2, 1].find((each) => each * power <= wanted) ?? 1;
  return step * power;
}
