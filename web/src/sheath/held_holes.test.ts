import { describe, expect, it } from "vitest";
import { letGo, placeHeld, put, spotOf } from "./held_holes";

const hole = { id: "eyelet-3", kind: "eyelet", x: 60, y: -12, diameter: 6.5, flange: 10.5, held: null } as const;

describe("a hole that is held", () => {
  it("is a row of the file from its first move on", () => {
    const [spot] = spotOf(hole);
    if (!spot) throw new Error("an eyelet can be dragged");
    const first = put({ sheath: { name: "a" } }, spot, [61.234, -12.001]);
    expect(first).toEqual({ tables: { sheath: { name: "a", eyelets: { at: [[61.23, -12]] } } }, row: 0 });
    const second = put(first.tables, { ...spot, row: 0 }, [63, -13]);
    expect(placeHeld(second.tables, { ...spot, row: 0 })).toEqual([63, -13]);
    const other = put(second.tables, spot, [90, -12]);
    expect(other.row).toBe(1);
  });

  it("is given back row by row, and leaves no empty list", () => {
    const tables = { sheath: { drain: { diameter: 5, at: [[1, 2], [3, 4]] } } };
    const one = letGo(tables, { kind: "drain", row: 0, at: [1, 2] });
    expect(one).toEqual({ sheath: { drain: { diameter: 5, at: [[3, 4]] } } });
    expect(letGo(one, { kind: "drain", row: 0, at: [3, 4] })).toEqual({ sheath: { drain: { diameter: 5 } } });
  });

  it("keeps its handle through every plan", () => {
    expect(spotOf({ ...hole, held: 2 })[0]).toMatchObject({ id: "eyelet held 2", row: 2 });
    expect(spotOf({ ...hole, kind: "clip" })).toEqual([]);
  });
});
