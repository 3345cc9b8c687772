import { describe, expect, it } from "vitest";
import { readTold, waitBefore } from "./events";
import { wordsFor } from "./standing";
import { same, valueAt, withValue } from "./tables";
import { bareLength, duration, fromShown, length, toShown } from "./units";
import { Steps } from "./undo";
import { readRoute } from "../shell/route";
import { readNumber, writeNumber } from "../record/number";

describe("lengths", () => {
  it("are shown and typed in either unit and kept in mm", () => {
    expect(length(12.7, 2, "inch")).toBe("0.500 inch");
    expect(length(0.524, 2, "mm")).toBe("0.52 mm");
    expect(fromShown(0.5, "inch")).toBe(12.7);
    expect(toShown(25.4, "inch")).toBe(1);
    expect(bareLength(-0.001, 2, "mm")).toBe("0.00");
    expect(length(-0.126, 2, "mm")).toBe("−0.13 mm");
  });

  it("that are no numbers are a dash, never NaN", () => {
    expect(length(Number.NaN)).toBe("–");
    expect(length(null)).toBe("–");
    expect(duration(undefined)).toBe("–");
  });

  it("are read with a point or a comma, and nothing else is a number", () => {
    expect(readNumber("1,25")).toBe(1.25);
    expect(readNumber(" -.5 ")).toBe(-0.5);
    for (const text of ["", "1e9999", "0x10", "1.2.3", "mm", "Infinity"]) {
      expect(readNumber(text)).toBeNull();
    }
    expect(writeNumber(0.1 + 0.2)).toBe("0.3");
  });

  it("of time are said as a person says them", () => {
    expect(duration(40)).toBe("40 s");
    expect(duration(720)).toBe("12 min");
    expect(duration(3 * 3600 + 5 * 60)).toBe("3 h 05");
  });
});

describe("a file as tables", () => {
  const tables = { sheath: { clearance: { side: 1.2 } }, rows: [[0, 1], [5, 2]] };

  it("is changed at one path and left alone elsewhere", () => {
    const next = withValue(tables, "sheath.clearance.side", 2);
    expect(valueAt(next, "sheath.clearance.side")).toBe(2);
    expect(valueAt(tables, "sheath.clearance.side")).toBe(1.2);
    expect(next.rows).toBe(tables.rows);
    expect(valueAt(withValue(tables, "rows.1.0", 6), "rows.1")).toEqual([6, 2]);
  });

  it("gets tables and rows that were not there, and loses keys and rows", () => {
    expect(withValue({}, "sheath.drain.diameter", 0)).toEqual({ sheath: { drain: { diameter: 0 } } });
    expect(withValue({}, "clips.0.along", 0.3)).toEqual({ clips: [{ along: 0.3 }] });
    expect(withValue(tables, "rows.0", undefined).rows).toEqual([[5, 2]]);
    expect(withValue(tables, "sheath", undefined)).toEqual({ rows: tables.rows });
  });

  it("is the same whatever the order of its keys", () => {
    expect(same({ a: 1, b: [1, { c: 2 }] }, { b: [1, { c: 2 }], a: 1 })).toBe(true);
    expect(same({ a: 1 }, { a: 1, b: 2 })).toBe(false);
    expect(same([], {})).toBe(false);
  });
});

describe("steps", () => {
  it("beyond the most are forgotten from the oldest on", () => {
    const steps = new Steps(0, 3);
    for (let i = 1; i <= 9; i += 1) steps.push(i);
    while (steps.undo());
    expect(steps.now).toBe(6);
  });

  it("taken back are gone when another one is made", () => {
    const steps = new Steps("a");
    steps.push("b");
    steps.undo();
    steps.push("c");
    expect(steps.redo()).toBe(false);
    expect(steps.now).toBe("c");
  });
});

describe("what the server tells", () => {
  it("is heeded only when it is understood", () => {
    expect(readTold('{"kind":"changed","what":"sheath","name":"a","version":"b"}')).not.toBeNull();
    expect(readTold('{"kind":"other"}')).toBeNull();
    expect(readTold("not json")).toBeNull();
  });

  it("is waited for longer and longer, at most ten seconds", () => {
    const waits = Array.from({ length: 12 }, (_, i) => waitBefore(i));
    expect(waits[0]).toBeLessThan(0.5);
    expect(waits.at(-1)).toBe(10);
    expect([...waits].sort((a, b) => a - b)).toEqual(waits);
  });
});

describe("addresses", () => {
  it("lead to a station and what lies there", () => {
    expect(readRoute("#/cut/camp-4/mould-front")).toEqual({
      station: "cut",
      name: "camp-4",
      rest: ["mould-front"],
    });
    expect(readRoute("").station).toBe("knives");
    expect(readRoute("#/nowhere/x")).toEqual({ station: "knives", name: null, rest: [] });
    expect(readRoute("#/day/piece/%E0%A4%A").rest).toEqual(["%E0%A4%A"]);
  });
});

describe("the ticket", () => {
  it("says how a sheath stands, the gravest first", () => {
    const problem = { sentence: "no" };
    expect(wordsFor(problem, { state: "current" })[1]).toBe("stop");
    expect(wordsFor(null, { state: "none" })[0]).toBe("not made");
    expect(wordsFor(null, { state: "old" })[1]).toBe("stop");
    expect(wordsFor(null, { state: "current", programs: [{ released: true }] })[1]).toBe("good");
    expect(wordsFor(null, { state: "current", programs: [{ released: false }] })[1]).toBe("stop");
    expect(wordsFor(null, { state: "current", programs: [] })[1]).toBe("stop");
  });
});
