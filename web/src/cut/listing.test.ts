import { expect, it } from "vitest";
import { Listing } from "./listing";

const bytes = (text: string) => new TextEncoder().encode(text);
const LISTING = new Listing([bytes("(title)\n(1. Rough)\nG0 X1\nX2\n"), bytes("(2. Finish ⌀6)\r\nG1 X3\r\nM30")]);

it("lines are counted on from one text to the next", () => {
  expect(LISTING.at(3, 1)).toEqual({
    text: 0,
    line: 3,
    around: [
      { number: 2, words: "(1. Rough)" },
      { number: 3, words: "G0 X1" },
      { number: 4, words: "X2" },
    ],
    step: "1. Rough",
  });
  expect(LISTING.at(6, 0)).toEqual({ text: 1, line: 2, around: [{ number: 2, words: "G1 X3" }], step: "2. Finish ⌀6" });
});

it("the last line needs no line end, and beyond it there is nothing", () => {
  expect(LISTING.at(7, 0)?.around).toEqual([{ number: 3, words: "M30" }]);
  expect(LISTING.at(8)).toBeNull();
  expect(LISTING.at(0)).toBeNull();
  expect(LISTING.at(1)?.step).toBeNull();
  expect(new Listing([bytes("")]).at(1)).toBeNull();
});
