import { expect, it } from "vitest";
import { ruleMarks } from "./rule_marks";

const words = (long: number, unit: "mm" | "inch") => ruleMarks(long, unit).flatMap(({ word }) => (word === null ? [] : [word]));

it("a rule is no shorter than what lies behind it, and names its unit at the last figure", () => {
  expect(words(32, "mm")).toEqual(["0", "10", "20", "30 mm"]);
  expect(words(240, "mm")).toEqual(["0", "50", "100", "150", "200 mm"]);
  expect(words(60, "inch")).toEqual(["0", "1", "2 inch"]);
  expect(words(120, "inch")).toEqual(["0", "1", "2", "3", "4 inch"]);
  expect(words(300.0001, "mm").at(-1)).toBe("300 mm");
  expect(words(301.5, "mm").at(-1)).toBe("300 mm");
  expect(ruleMarks(238, "mm").at(-1)).toEqual({ at: 240, rank: 1, word: null });
  expect(words(4, "mm")).toEqual(["0", "10 mm"]);
  expect(ruleMarks(Number.NaN, "mm")).toEqual([]);
});
