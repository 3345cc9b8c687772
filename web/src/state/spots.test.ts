import { expect, it } from "vitest";
import { spotOf } from "./spots";

it("a finding leads to a line, to a place, to both or nowhere", () => {
  expect(spotOf({ where: "mould-top, line 231, x 60.30, y -286.22, z 1.00" })).toEqual({ line: 231, at: [60.3, -286.22, 1] });
  expect(spotOf({ where: "trim part 2, line 31, x 6, y 7, z 1" })).toEqual({ line: null, at: [6, 7, 1] });
  expect(spotOf({ where: "mould-top, x 60.30, y 286.22" })?.at).toEqual([60.3, 286.22, null]);
  expect(spotOf({ where: "fixture, screw at x = 216.5 mm, y = 118.2 mm" })?.at).toEqual([216.5, 118.2, null]);
  expect(spotOf({ where: "drape, x = 70, y = 28 mm on the blank" })?.at).toEqual([70, 28, null]);
  expect(spotOf({ where: "trim, line 7" })).toEqual({ line: 7, at: null });
  for (const where of ["mould, vents", "x = 146 mm", "", null]) expect(spotOf({ where })).toBeNull();
});
