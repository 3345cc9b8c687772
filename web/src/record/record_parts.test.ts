import { describe, expect, it } from "vitest";
import { freeName, nameFrom } from "../knife/names";
import { placeOf, valueOf } from "../sheath/plan_points";
import { differences } from "./differences";
import { beginnings, type Field, groupsOf, inRow, rowWord, wordsFor } from "./groups";

const field = (path: string, more: Partial<Field> = {}): Field => ({
  path,
  label: path.split(".").at(-1) ?? "",
  unit: "mm",
  kind: "length",
  least: 0,
  most: null,
  step: 0.1,
  choices: [],
  help: "",
  group: path.split(".").slice(0, -1).filter((part) => part !== "*").join(" "),
  default: null,
  required: false,
  optional_table: false,
  ...more,
});

describe("a form", () => {
  const clips = [
    field("sheath.clips.*.clip", {
      kind: "choice",
      required: true,
      choices: [{ value: "flat-clip-2", label: "Flat clip" }],
      optional_table: true,
    }),
    field("sheath.clips.*.along", { kind: "number", default: 0.15, optional_table: true }),
  ];
  const pads = [field("sheath.tip_pads.start", { default: 14, optional_table: true, group: "sheath tip pads" })];

  it("has a group for each table, and knows which are rows and which can be left out", () => {
    const [rows, table] = groupsOf([...clips, ...pads]);
    expect(rows).toMatchObject({ title: "Clips", table: "sheath.clips", rows: true, optional: false });
    expect(table).toMatchObject({ title: "Tip pads", table: "sheath.tip_pads", rows: false, optional: true });
    expect(rows && rowWord(rows)).toBe("clip");
  });

  it("begins a row with what must be said and with defaults", () => {
    expect(beginnings(clips, "sheath.clips.*")).toEqual({ clip: "flat-clip-2", along: 0.15 });
    expect(beginnings(pads, "sheath.tip_pads")).toEqual({ start: 14 });
  });

  it("has words for a value by its path", () => {
    expect(wordsFor("sheath.clips.1.along", clips)).toBe("Clip 2: along");
    expect(wordsFor("sheath.clips", clips)).toBe("sheath.clips");
  });

  it("writes to the row it is shown for", () => {
    expect(inRow(field("sheath.clips.*.along"), 3).path).toBe("sheath.clips.3.along");
  });
});

describe("two versions", () => {
  it("are told apart value by value, tables by how many rows", () => {
    const one = { sheath: { clearance: { side: 1.2 }, clips: [{}] }, fit: {} };
    const other = { sheath: { clearance: { side: 0.9 }, clips: [{}, {}] } };
    expect(differences(one, other)).toEqual([
      { path: "sheath.clearance.side", one: "1.2", other: "0.9" },
      { path: "sheath.clips", one: "1 row", other: "2 rows" },
      { path: "fit", one: "there", other: "left out" },
    ]);
    expect(differences(one, one)).toEqual([]);
    const side = field("sheath.clearance.side", { unit: "mm" });
    expect(differences(one, other, [side])[0]).toMatchObject({ one: "1.2 mm", other: "0.9 mm" });
  });
});

describe("names of folders", () => {
  it("are made from what the person says", () => {
    expect(nameFrom("  Tärn & Söhne No. 7 ")).toBe("tarn-sohne-no-7");
    expect(nameFrom("刀")).toBe("");
    expect(nameFrom("x".repeat(90))).toHaveLength(40);
  });

  it("are free", () => {
    expect(freeName("Tarn", ["tarn", "tarn-2"])).toBe("tarn-3");
    expect(freeName("刀", [])).toBe("knife");
  });
});

describe("a point on the plan", () => {
  const mouth = { path: "a", label: "Mouth", x: 145, y: 13, along: [1, 0], per_mm: 1, value: 30 } as const;
  const clip = { path: "b", label: "clip", x: 60, y: -3, along: [-0.6, 0.8], per_mm: 0.01, value: 0.3 } as const;

  it("stands where its value stands", () => {
    expect(placeOf(mouth, 20)).toEqual([135, 13]);
    expect(placeOf(clip, 0.4)[0]).toBeCloseTo(54);
  });

  it("sets the value of where it is put, along its own line", () => {
    expect(valueOf(mouth, [140, 90])).toBe(25);
    expect(valueOf(mouth, [100, 0])).toBe(0);
    expect(valueOf(clip, placeOf(clip, 0.45))).toBeCloseTo(0.45);
    expect(valueOf(clip, [-900, 900])).toBe(1);
  });
});
