import { describe, expect, it } from "vitest";
import { deepestCut, JUMP, linePairs, momentAt, RAPID, readPreview } from "./preview";

/** A jump to (0, 0, 5), a rapid to (10, 0, 5), a cut down to (10, 0, -2), a jump, a cut. */
const ENDS = [0, 0, 5, 10, 0, 5, 10, 0, -2, 50, 0, -2, 60, 0, -2];
const SECONDS = [0, 1, 3, 3, 8];

function program(): ArrayBuffer {
  const n = SECONDS.length;
  const buffer = new ArrayBuffer(80 + 26 * n);
  const view = new DataView(buffer);
  [..."CHPV"].forEach((letter, i) => view.setUint8(i, letter.charCodeAt(0)));
  view.setUint16(4, 1, true);
  view.setUint16(6, 80, true);
  view.setUint32(8, n, true);
  view.setUint32(12, 1, true);
  [0, -1, -20, 60, 1, 0].forEach((side, i) => view.setFloat32(16 + 4 * i, side, true));
  view.setFloat64(40, 8, true);
  view.setUint16(48, 3, true);
  view.setUint16(50, 2, true);
  [6, 1, 22, 30, 6, 32, 180].forEach((figure, i) => view.setFloat32(52 + 4 * i, figure, true));
  ENDS.forEach((end, i) => view.setFloat32(80 + 4 * i, end, true));
  SECONDS.forEach((at, i) => view.setFloat32(80 + 12 * n + 4 * i, at, true));
  SECONDS.forEach((_, i) => view.setUint32(80 + 16 * n + 4 * i, 10 + i, true));
  [0, 0, 200, 0, 150].forEach((depth, i) => view.setUint16(80 + 20 * n + 2 * i, depth, true));
  [0, 0, 255, 0, 128].forEach((width, i) => view.setUint8(80 + 24 * n + i, width));
  [RAPID | JUMP, RAPID, 0, RAPID | JUMP, 0].forEach((flag, i) => view.setUint8(80 + 25 * n + i, flag));
  return buffer;
}

describe("the way of a cutter", () => {
  it("is laid open as the job folder writes it", () => {
    const way = readPreview(program());
    expect(way.pieces).toBe(5);
    expect(way.box).toEqual([0, -1, -20, 60, 1, 0]);
    expect(way.totalSeconds).toBe(8);
    expect(way.cutters).toEqual([
      { number: 3, kind: "bull-nose", diameter: 6, corner: 1, fluteLength: 22, stickOut: 30, shank: 6, holder: 32, pointAngle: 180 },
    ]);
    expect([...way.ends]).toEqual(ENDS);
    expect([...way.lines]).toEqual([10, 11, 12, 13, 14]);
    expect([...way.widths]).toEqual([0, 0, 255, 0, 128]);
    expect(deepestCut(way)).toBe(2);
  });

  it("draws nothing where the cutter jumps", () => {
    const { pairs, before } = linePairs(readPreview(program()));
    expect([...pairs]).toEqual([0, 1, 1, 2, 3, 4]);
    expect([...before]).toEqual([0, 0, 1, 2, 2, 3]);
  });

  it("stands between two ends at any time, and at one of them outside the program", () => {
    const way = readPreview(program());
    expect(momentAt(way, -1)).toEqual({ piece: 0, share: 1, place: [0, 0, 5] });
    expect(momentAt(way, 0.5)).toEqual({ piece: 1, share: 0.5, place: [5, 0, 5] });
    expect(momentAt(way, 2)).toEqual({ piece: 2, share: 0.5, place: [10, 0, 1.5] });
    expect(momentAt(way, 5.5).place).toEqual([55, 0, -2]);
    expect(momentAt(way, 99)).toEqual({ piece: 4, share: 1, place: [60, 0, -2] });
  });

  it("is refused in words when cut short or without its cutters", () => {
    const whole = program();
    expect(() => readPreview(whole.slice(0, -1))).toThrow("cut short");
    new DataView(whole).setUint32(12, 9, true);
    expect(() => readPreview(whole)).toThrow("cut short");
  });
});
