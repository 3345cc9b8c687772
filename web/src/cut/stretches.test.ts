import { expect, it } from "vitest";
import type { Preview } from "../three/preview";
import { cutterInWords, secondsAtLine, stretchesOf } from "./stretches";

const cutter = (number: number, kind: "flat" | "ball") => ({ number, kind, diameter: 6, corner: 0, fluteLength: 20, stickOut: 30, shank: 6, holder: 30, pointAngle: 180 });

it("a program falls into stretches by cutter, without a gap, to its very end", () => {
  const preview = {
    pieces: 5,
    cutters: [cutter(1, "flat"), cutter(2, "ball")],
    cutterOf: Uint16Array.from([0, 0, 1, 1, 0]),
    seconds: Float32Array.from([1, 2, 2, 5, 6]),
    totalSeconds: 6.5,
  } as unknown as Preview;
  expect(stretchesOf(preview).map(({ cutter, from, to }) => [cutter.number, from, to])).toEqual([
    [1, 0, 2],
    [2, 2, 5],
    [1, 5, 6.5],
  ]);
});

it("a cutter is asked for by its number, size and kind", () => {
  expect(cutterInWords(cutter(2, "ball"), (mm) => `${mm} mm`)).toBe("T2, 6 mm ball");
  expect(cutterInWords(cutter(3, "flat"), () => "10.00 mm")).toBe("T3, 10 mm flat");
  expect(cutterInWords(cutter(3, "flat"), () => "0.250 inch")).toBe("T3, 0.25 inch flat");
});

it("a line of the text has its moment, unless it moves nothing", () => {
  const preview = { lines: Uint32Array.from([7, 7, 9]), seconds: Float32Array.from([1, 2, 5]) };
  expect([7, 9, 8].map((line) => secondsAtLine(preview, line))).toEqual([1, 5, null]);
});
