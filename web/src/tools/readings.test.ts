import { expect, it } from "vitest";
import { readingsOf } from "./readings";

const FIGURES = {
  blank: { width: 300, depth: 200, copies: 2 },
  sheath: { gauge: 2, holes: { eyelet: 20 } },
  forming: { drape: { thinnest: 0.88, least: 0.8 } },
  programs: { "mould-top": { leftover_most: 0.11, gouge_most: 0.004 } },
};

const told = (thing: "blank" | "mould" | "sheath", figures: unknown = FIGURES) =>
  Object.fromEntries(readingsOf(thing, figures).map(({ label, value }) => [label, value]));

it("figures are told in the page's unit, shares of the gauge as a thickness", () => {
  expect(told("blank")).toEqual({
    Blank: "300 × 200 mm",
    "Sheaths on it": "2",
    "Thinnest, but for one part in a hundred": "1.76 mm",
    "Thinnest anywhere": "1.60 mm",
    Sheet: "2.0 mm",
  });
  expect(told("mould")).toEqual({ "Most left on": "0.11 mm", "Cut too deep, at most": "0.004 mm" });
});

it("what a job has no figure for is left out", () => {
  expect(told("sheath", null)).toEqual({});
  expect(told("sheath")).toEqual({ Eyelets: "20" });
});
