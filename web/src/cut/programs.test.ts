import { expect, it } from "vitest";
import type { Program } from "../state/job";
import type { Finding } from "../state/types";
import { inOrder, stateInWords } from "./programs";

const program = (name: string, released: boolean): Program => ({ name, title: name, released, seconds: 1, tools: [], texts: [], figures: {} });
const finding = (where: string, severity: Finding["severity"]): Finding => ({ code: "x", severity, sentence: "s", where });

it("a program's state is said in words: its own proof, or the job's", () => {
  const mind = finding("trim, line 7", "warning");
  const stop = finding("trim, line 9", "error");
  const elsewhere = finding("front half, x = 41 mm, y = 29 mm", "error");
  expect(stateInWords(program("trim", true), [])).toBe("Proved");
  expect(stateInWords(program("trim", true), [mind, finding("trim", "note")])).toBe("Proved, with 1 to mind");
  expect(stateInWords(program("trim", false), [mind, stop])).toBe("Kept back: not proved");
  expect(stateInWords(program("trim", false), [mind, elsewhere])).toBe("Kept back with the job");
  expect(stateInWords(program("mould-top", false), [stop])).toBe("Kept back with the job");
});

it("programs stand in the order they are cut", () => {
  const names = ["trim", "extra", "fixture", "mould-back", "mould-top"].map((name) => program(name, true));
  expect(inOrder(names).map(({ name }) => name)).toEqual(["mould-top", "mould-back", "fixture", "trim", "extra"]);
});
