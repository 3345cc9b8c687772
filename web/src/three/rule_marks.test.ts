import { expect, it } from "vitest";
import { ruleMarks } from "./rule_marks";

const words = (long: number, unit: "mm" | "inch") => ruleMarks(long, unit).flatMap(({ word }) => (word === null ? [] : [word]));

it("a rule has figures to its end, and is no shorter than what lies behind it", () => {
  expect(words(32, "mm")).toEqual(["0", "10", "20", "30", "40 mm"]);
  expect(words(240, "mm")).toEqual(["0", "50", "100", "150", "200", "250 mm"]);
  expect(words(60, "inch")).toEqual(["0", "1", "2", "3 inch"]);
  expect(words(120, "inch")).toEqual(["0", "1", "2", "3", "4", "5 inch"]);
  expect(words(300.0001, "mm").at(-1)).toBe("300 mm");
  expect(ruleMarks(240, "mm").at(-1)).toEqual({ at: 250, rank: 0, word: "250 mm" });
  expect(ruleMarks(Number.NaN, "mm")).toEqual([]);
});
