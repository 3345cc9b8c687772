import { describe, expect, it } from "vitest";
import {
  addRow,
  drawnThrough,
  dropRow,
  everySo,
  moveStation,
  moveThickness,
  pulled,
  type Row,
  spaced,
  stationsOf,
} from "./stations";

const ROWS: readonly Row[] = [
  [0, 5, 5],
  [10, 1, 9],
  [40, 0, 10],
  [80, 0, 9],
  [100, 4, 4],
];

describe("stations", () => {
  it("are read only where they are whole", () => {
    expect(stationsOf({ outline: { stations: ROWS as unknown as number[][] } })).toEqual(ROWS);
    expect(stationsOf({ outline: { stations: [[0, 1, 2], [3, "x", 4]] } })).toBeNull();
    expect(stationsOf({ outline: { drawing: "knife.svg" } })).toBeNull();
    expect(stationsOf({})).toBeNull();
  });

  it("move between their neighbours, the edge never past the spine", () => {
    expect(moveStation(ROWS, 2, "edge", [500, 3])[2]).toEqual([79.8, 3, 10]);
    expect(moveStation(ROWS, 2, "edge", [40, 50])[2]).toEqual([40, 9.8, 10]);
    expect(moveStation(ROWS, 2, "spine", [40, -50])[2]).toEqual([40, 0, 0.2]);
  });

  it("keep tip and butt whole, and the tip at 0", () => {
    expect(moveStation(ROWS, 0, "edge", [7, 6])[0]).toEqual([0, 6, 6]);
    expect(moveStation(ROWS, 4, "spine", [110, 3])[4]).toEqual([110, 3, 3]);
    expect(dropRow(ROWS, 0)).toBe(ROWS);
    expect(dropRow(ROWS, 4)).toBe(ROWS);
  });

  it("are put in half-way and taken out", () => {
    const more = addRow(ROWS, 1);
    expect(more).toHaveLength(6);
    expect(more[2]).toEqual([25, 0.5, 9.5]);
    expect(dropRow(more, 2)).toEqual(ROWS);
  });

  it("that lie too near to be told apart wait until the drawing is nearer, but not the chosen one", () => {
    const dense = [0, 1, 2, 3, 10, 11, 20].map((x) => [x, 0, 5] as const);
    expect([...spaced(dense, 2.5, -1)].sort((a, b) => a - b)).toEqual([0, 3, 4, 6]);
    expect(spaced(dense, 2.5, 5).has(5)).toBe(true);
    expect(spaced(dense, 0.5, -1).size).toBe(7);
  });

  it("are drawn through without a bulge beyond them", () => {
    const line = drawnThrough(ROWS);
    expect(Math.max(...line.map((point) => point[1]))).toBeLessThanOrEqual(10);
    expect(Math.min(...line.map((point) => point[1]))).toBeGreaterThanOrEqual(0);
    for (const [x, y] of ROWS) expect(line).toContainEqual([x, y]);
  });
});

describe("thickness", () => {
  it("keeps its ends in place and stays above nothing", () => {
    const rows = [[0, 1], [20, 3], [60, 4]] as const;
    expect(moveThickness(rows, 0, [9, -4], true)[0]).toEqual([0, 0.1]);
    expect(moveThickness(rows, 1, [70, 5], true)[1]).toEqual([59.8, 5]);
  });
});

describe("a drawn outline", () => {
  const square = [[0, 0], [1, 0], [2, 0], [3, 0], [4, 0], [4, 4], [0, 4]] as const;

  it("is pulled at one corner, and what lies beyond the reach stays", () => {
    const next = pulled(square, 2, [2, -1], 2);
    expect(next[2]).toEqual([2, -1]);
    expect(next[1]?.[1]).toBeCloseTo(-0.5);
    expect(next[3]?.[1]).toBeCloseTo(-0.5);
    expect(next[4]).toEqual([4, 0]);
    expect(next[6]).toEqual([0, 4]);
  });

  it("is taken hold of every so often", () => {
    expect(everySo(square, 2)).toEqual([0, 2, 4, 5, 6]);
  });
});
