import { describe, expect, it } from "vitest";
import { merged } from "./merge";

const base = { sheath: { clearance: { side: 1.2, blade: 0.5 }, mouth: { wrap: 30 } }, rows: [[0, 1]] };

describe("two changes of one file", () => {
  it("are laid together where they touch different values", () => {
    const mine = { ...base, sheath: { ...base.sheath, clearance: { side: 1.5, blade: 0.5 } } };
    const theirs = { ...base, sheath: { ...base.sheath, clearance: { side: 1.2, blade: 0.4 }, fillet: 2 } };
    expect(merged(base, mine, theirs)).toEqual({
      ...base,
      sheath: { ...base.sheath, clearance: { side: 1.5, blade: 0.4 }, fillet: 2 },
    });
  });

  it("are not, where they touch the same one", () => {
    const mine = { ...base, sheath: { ...base.sheath, mouth: { wrap: 20 } } };
    const theirs = { ...base, sheath: { ...base.sheath, mouth: { wrap: 25 } } };
    expect(merged(base, mine, theirs)).toBeNull();
    expect(merged(base, mine, mine)).toEqual(mine);
  });

  it("never mix the rows of a list", () => {
    const mine = { ...base, rows: [[0, 2]] };
    const theirs = { ...base, rows: [[0, 1], [5, 1]] };
    expect(merged(base, mine, theirs)).toBeNull();
    expect(merged(base, base, theirs)).toEqual(theirs);
  });

  it("keep what one took out, unless the other changed it", () => {
    const { rows: _, ...without } = base;
    expect(merged(base, without, base)).toEqual(without);
    expect(merged(base, without, { ...base, rows: [[9, 9]] })).toBeNull();
  });
});
