import { expect, it } from "vitest";
import { bytesInWords, heapsOf, namesHeld } from "./heaps";

const program = (name: string, released: boolean) => ({ name, title: name, released, seconds: 1, tools: [], texts: [`programs/${name}.nc`], figures: {} });
const files = ["programs/trim.nc", "programs/fixture.nc", "job.pdf", "previews/trim.bin", "manifest.json", "drawings/outline.dxf"].map((path) => ({ path, bytes: 1 }));

it("files lie in heaps, and a program that is not released in none", () => {
  const programs = [program("trim", true), program("fixture", false)];
  expect(heapsOf({ files, programs }).map(({ title, files }) => [title, files.map(({ path }) => path)])).toEqual([
    ["Pages to print", ["job.pdf"]],
    ["Programs", ["programs/trim.nc"]],
    ["Drawings", ["drawings/outline.dxf"]],
    ["Figures", ["manifest.json"]],
  ]);
  expect(namesHeld(programs)).toEqual(["fixture"]);
});

it("sizes are said as people say them", () => {
  expect([12, 53_599, 8_019_784].map(bytesInWords)).toEqual(["12 B", "54 kB", "8.0 MB"]);
});
