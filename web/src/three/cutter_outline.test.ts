import { describe, expect, it } from "vitest";
import { cutterOutline } from "./cutter_outline";
import type { Cutter } from "./preview";

const CUTTER: Cutter = { number: 1, kind: "ball", diameter: 6, corner: 3, fluteLength: 20, stickOut: 30, shank: 6, holder: 32, pointAngle: 180 };

const tip = (cutter: Partial<Cutter>) => cutterOutline({ ...CUTTER, ...cutter }).flutes;

describe("the outline of a cutter", () => {
  it("starts at its tip, is as wide as the cutter and as high as its flutes", () => {
    for (const kind of ["ball", "flat", "bull-nose", "drill", "vee", "tapered ball"] as const) {
      const outline = tip({ kind, corner: kind === "ball" ? 3 : 1, pointAngle: 60 });
      expect(outline[0]).toEqual([0, 0]);
      expect(Math.max(...outline.map(([radius]) => radius))).toBeCloseTo(3, 9);
      expect(Math.max(...outline.map(([, height]) => height))).toBeCloseTo(20, 9);
      outline.slice(1).forEach(([, height], i) => expect(height).toBeGreaterThanOrEqual((outline[i]?.[1] ?? 0) - 1e-12));
    }
  });

  it("a ball's points lie on the ball", () => {
    for (const [radius, height] of tip({}).slice(0, 13)) expect(Math.hypot(radius, height - 3)).toBeCloseTo(3, 9);
  });

  it("a drill's point has its angle", () => {
    expect(tip({ kind: "drill", pointAngle: 90 })[1]).toEqual([3, expect.closeTo(3, 9)]);
  });

  it("a tapered ball runs into its cone without a corner", () => {
    const outline = tip({ kind: "tapered ball", corner: 0.5, pointAngle: 20 });
    const [joint, before, after] = [outline[12], outline[11], outline[13]] as [number, number][];
    const slope = (a: readonly number[], b: readonly number[]) => Math.atan2((b[0] ?? 0) - (a[0] ?? 0), (b[1] ?? 0) - (a[1] ?? 0));
    expect(slope(joint ?? [], after ?? [])).toBeCloseTo((10 * Math.PI) / 180, 9);
    // The last chord of the ball leans by half a step of its arc more.
    expect(slope(before ?? [], joint ?? [])).toBeCloseTo(((10 + 80 / 24) * Math.PI) / 180, 9);
  });
});
