import { expect, it } from "vitest";
import { tellingSpan } from "./telling";

it("a few places far out do not stretch the scale, and places without a figure don't count", () => {
  const values = Float32Array.from({ length: 1001 }, (_, i) => i / 1000);
  values[1000] = 50;
  values[0] = -50;
  expect(tellingSpan(values, 0.995)).toEqual([expect.closeTo(0.005, 6), expect.closeTo(0.995, 6)]);
  expect(tellingSpan(Float32Array.from([Number.NaN, 2, Number.NaN]), 0.9)).toEqual([2, 2]);
  expect(tellingSpan(Float32Array.from([Number.NaN]), 0.9)).toBeNull();
});

it("many figures are sampled, and the span hardly changes", () => {
  const values = Float32Array.from({ length: 200_000 }, (_, i) => i);
  const [low, high] = tellingSpan(values, 0.9) ?? [0, 0];
  expect(low / 200_000).toBeCloseTo(0.005, 3);
  expect(high / 200_000).toBeCloseTo(0.9, 3);
});
