import { expect, it } from "vitest";
import { placeOf, planeOf } from "./cut_open";
import type { Box } from "./buffers";

const BOX: Box = [10, -20, 0, 110, 20, 30];

it("a plane stands where the slider is, and takes the farther half or the nearer", () => {
  expect(placeOf({ axis: 0, share: 0.5, other: false }, BOX)).toBeCloseTo(60, 9);
  expect(planeOf({ axis: 2, share: 0.5, other: false }, BOX)).toEqual({ normal: [0, 0, 1], reach: 15 });
  expect(planeOf({ axis: 2, share: 0.5, other: true }, BOX)).toEqual({ normal: [0, 0, -1], reach: -15 });
});

it("the whole has no plane, and something of it is left at the ends of the slider", () => {
  expect(planeOf(null, BOX)).toBeNull();
  expect(planeOf({ axis: 0, share: 0, other: false }, null)).toBeNull();
  expect(placeOf({ axis: 1, share: 0, other: false }, BOX)).toBeGreaterThan(-20);
  expect(placeOf({ axis: 1, share: 1, other: false }, BOX)).toBeLessThan(20);
});
