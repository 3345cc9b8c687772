import { expect, it } from "vitest";
import { digitsFor, roundFigures, roundStep } from "./scale";

it("figures along a scale are round and inside", () => {
  expect(roundFigures(0, 1)).toEqual([0, 0.2, 0.4, 0.6000000000000001, 0.8, 1]);
  expect(roundFigures(-0.03, 0.12)).toHaveLength(3);
  expect(roundFigures(1, 1)).toEqual([]);
  expect(roundFigures(Number.NaN, 1)).toEqual([]);
});

it("a step is 1, 2 or 5 times a power of ten, with as many digits as it needs", () => {
  expect([0.011, 0.2, 3, 70].map(roundStep)).toEqual([0.02, 0.2, 5, 100]);
  expect([0.02, 0.5, 1, 20].map(digitsFor)).toEqual([2, 1, 0, 0]);
});
