import { expect, it } from "vitest";
import { ofForming, ofProgram, ofThing } from "./job_findings";
import type { Finding } from "./types";

const at = (where: string, severity: Finding["severity"] = "warning"): Finding => ({ code: where, severity, sentence: where, where });
const words = (findings: readonly Finding[]) => findings.map(({ where }) => where);
const ALL = ["mould-top, x 60.30, y 286.22", "mould, vents", "mould", "fixture, screw at x = 2 mm, y = 3 mm", "drape, x = 1, y = 2 mm on the blank", "fold, strip", "fold, x = 73 mm", "cooling, shot 20", "eyelet at u = 2 mm, v = 3 mm"].map((where) => at(where));

it("findings go to the program, the thing or the heat that they speak of", () => {
  expect(words(ofProgram(ALL, "mould-top"))).toEqual(["mould-top, x 60.30, y 286.22"]);
  expect(words(ofProgram([at("trim part 2, line 3, x 1, y 2, z 3"), at("trimmed")], "trim"))).toHaveLength(1);
  expect(words(ofThing(ALL, "mould"))).toEqual(["mould-top, x 60.30, y 286.22", "mould, vents", "mould"]);
  expect(words(ofThing(ALL, "fixture"))).toEqual(["fixture, screw at x = 2 mm, y = 3 mm"]);
  expect(words(ofThing(ALL, "sheath"))).toEqual(["fold, x = 73 mm", "eyelet at u = 2 mm, v = 3 mm"]);
  expect(words(ofForming(ALL))).toEqual(["mould", "drape, x = 1, y = 2 mm on the blank", "fold, strip", "cooling, shot 20"]);
});

it("what stops the whole job is seen at each thing", () => {
  const stop = at("trim, line 231", "error");
  for (const thing of ["mould", "fixture", "blank", "sheath", "knife"] as const) expect(ofThing([stop], thing)).toEqual([stop]);
  expect(ofProgram([stop], "mould-top")).toEqual([stop]);
});
