import { describe, expect, it } from "vitest";
import { heatMarks, pathOf, scalesFor, timeMarks, timeWord, valueAt } from "./chart";

const FRAME = { width: 500, height: 300, left: 50, right: 50, top: 20, bottom: 30 };
const CURVE = { title: "face", seconds: [0, 50, 100], celsius: [22, 120, 160] };

describe("a drawing of temperatures", () => {
  it("is ruled in round figures of the scale shown", () => {
    expect(heatMarks([20, 180], "mm").map(({ words }) => words)).toEqual(["50 °C", "100 °C", "150 °C"]);
    const marks = heatMarks([20, 180], "inch");
    expect(marks.map(({ words }) => words)).toEqual(["100 °F", "150 °F", "200 °F", "250 °F", "300 °F", "350 °F"]);
    expect(marks[2]?.celsius).toBeCloseTo(93.33, 2);
  });

  it("has room for every point and level", () => {
    const scales = scalesFor([CURVE], [175], FRAME);
    expect(scales?.celsius).toEqual([20, 180]);
    expect(scales?.x(0)).toBe(50);
    expect(scales?.x(100)).toBe(450);
    expect(scales?.y(20)).toBe(270);
    expect(scales?.y(180)).toBe(20);
    expect(scales && pathOf(CURVE, scales)).toMatch(/^M50\.0 266\.9L250\.0 113\.8L450\.0 51\.3$/);
  });

  it("is none where there is no point", () => {
    expect(scalesFor([], [175], FRAME)).toBeNull();
    expect(scalesFor([{ title: "x", seconds: [], celsius: [] }], [], FRAME)).toBeNull();
  });

  it("says what a curve is at a time, and nothing beyond it", () => {
    expect(valueAt(CURVE, 25)).toBe(71);
    expect(valueAt(CURVE, 0)).toBe(22);
    expect(valueAt(CURVE, 100)).toBe(160);
    expect(valueAt(CURVE, 101)).toBeNull();
    expect(valueAt(CURVE, -1)).toBeNull();
  });

  it("marks seconds while they are few, and whole minutes then", () => {
    expect(timeMarks(100).map((at) => timeWord(at, 100))).toEqual(["0 s", "20 s", "40 s", "60 s", "80 s", "100 s"]);
    expect(timeMarks(300).map((at) => timeWord(at, 300))).toEqual(["0 min", "1 min", "2 min", "3 min", "4 min", "5 min"]);
    expect(timeMarks(1500)).toEqual([0, 240, 480, 720, 960, 1200, 1440]);
  });
});
