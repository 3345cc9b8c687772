import { describe, expect, it } from "vitest";
import type { Box } from "./buffers";
import { around, axesOf, fitted, type Look, moved, nearer, turned, type Vec } from "./turning";
import { BOARD_VIEWS, KNIFE_VIEWS } from "./views";

const dot = (a: Vec, b: Vec): number => a.reduce((sum, value, i) => sum + value * (b[i] as number), 0);
const BOX: Box = [-10, -200, 3, 400, 100, 30];
const LOOK: Look = { azimuth: 1, elevation: 0.4, distance: 300, target: [1, 2, 3] };

describe("looking at a thing", () => {
  it.each([...KNIFE_VIEWS, ...BOARD_VIEWS])("$words: the axes stand square, right-handed", ({ azimuth, elevation }) => {
    const { right, up, back } = axesOf({ azimuth, elevation });
    for (const [a, b] of [[right, up], [up, back], [back, right]] as const) expect(dot(a, b)).toBeCloseTo(0, 12);
    const cross = [right[1] * up[2] - right[2] * up[1], right[2] * up[0] - right[0] * up[2], right[0] * up[1] - right[1] * up[0]];
    cross.forEach((value, i) => expect(value).toBeCloseTo(back[i] as number, 12));
  });

  it("from above has x to the right and y up, as a drawing has", () => {
    const { right, up } = axesOf({ azimuth: -Math.PI / 2, elevation: Math.PI / 2 });
    [1, 0, 0].forEach((value, i) => expect(right[i]).toBeCloseTo(value, 12));
    [0, 1, 0].forEach((value, i) => expect(up[i]).toBeCloseTo(value, 12));
  });

  it.each([0.4, 1, 2.2])("a box fits a picture %f times as wide as it is high, and nearly fills it", (aspect) => {
    const angle = 0.45;
    const look = fitted(BOX, 0.7, 0.5, angle, aspect);
    const { right, up, back } = axesOf(look);
    let widest = 0;
    for (let corner = 0; corner < 8; corner += 1) {
      const from = [0, 1, 2].map((i) => (BOX[(corner >> i) & 1 ? i + 3 : i] as number) - (look.target[i] as number)) as unknown as Vec;
      const depth = look.distance - dot(from, back);
      const high = Math.abs(dot(from, up)) / depth / Math.tan(angle / 2);
      const wide = Math.abs(dot(from, right)) / depth / Math.tan(angle / 2) / aspect;
      widest = Math.max(widest, high, wide);
    }
    expect(widest).toBeLessThan(1);
    expect(widest).toBeGreaterThan(0.8);
  });

  it("never turns upside down, and stays within reach", () => {
    expect(turned(LOOK, 0, 9).elevation).toBe(Math.PI / 2);
    expect(turned(LOOK, -2, 0).azimuth).toBeCloseTo(2 * Math.PI - 1, 12);
    expect(nearer(LOOK, 1e-9, 100).distance).toBe(1);
    expect(nearer(LOOK, 1e9, 100).distance).toBe(1000);
  });

  it("moves by the picture: a whole height up is what the eye sees from bottom to top", () => {
    const look = moved({ ...LOOK, elevation: 0 }, 0, 1, 0.6);
    expect(look.target[2] - 3).toBeCloseTo(2 * 300 * Math.tan(0.3), 9);
  });

  it("goes around several boxes, or none", () => {
    expect(around([BOX, [0, 0, 0, 500, 1, 1]])).toEqual([-10, -200, 0, 500, 100, 30]);
    expect(around([])).toBeNull();
  });
});
