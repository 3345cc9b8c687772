import { describe, expect, it } from "vitest";
import { boxOf, fit, inMillimetres, onScreen, roundLength, zoomed } from "./frame";

describe("the frame of a drawing", () => {
  const frame = fit({ x0: 0, y0: -6, x1: 230, y1: 30 }, { width: 900, height: 400 });

  it("shows the whole box, y up", () => {
    const [left, low] = onScreen(frame, 0, -6);
    const [right, high] = onScreen(frame, 230, 30);
    expect(left).toBeCloseTo(36);
    expect(right).toBeCloseTo(864);
    expect(high).toBeLessThan(low);
    expect(low + high).toBeCloseTo(400);
  });

  it("leaves room for keys at the side and at the foot", () => {
    const kept = fit({ x0: 0, y0: 0, x1: 100, y1: 100 }, { width: 500, height: 300 }, 10, { right: 60, foot: 40 });
    expect(onScreen(kept, 100, 0)[0]).toBeLessThanOrEqual(430);
    expect(onScreen(kept, 0, 0)[1]).toBeCloseTo(250);
    expect(onScreen(kept, 0, 100)[1]).toBeCloseTo(10);
  });

  it("comes back from the screen to the same millimetres", () => {
    const [x, y] = inMillimetres(frame, ...onScreen(frame, 12.3, 4.5));
    expect(x).toBeCloseTo(12.3);
    expect(y).toBeCloseTo(4.5);
  });

  it("keeps what lies under the pointer there", () => {
    const near = zoomed(frame, 3, 200, 100);
    expect(inMillimetres(near, 200, 100)[0]).toBeCloseTo(inMillimetres(frame, 200, 100)[0]);
    expect(near.scale).toBeCloseTo(3 * frame.scale);
  });

  it("heeds no point that is no number", () => {
    expect(boxOf([[Number.NaN, 0]])).toBeNull();
    expect(boxOf([[1, 2], [3, -4]])).toEqual({ x0: 1, y0: -4, x1: 3, y1: 2 });
  });

  it("chooses round lengths for its bar", () => {
    expect(roundLength(3.6, 1)).toBe(20);
    expect(roundLength(3.6, 25.4)).toBe(1);
  });
});
