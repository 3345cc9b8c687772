import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { told } from "./sentences";

const inch = (words: string): string => told(words, "inch");

describe("sentences in inch", () => {
  it("says lengths, areas, feeds and temperatures in the other unit", () => {
    expect(inch("The handle is at most 25.4 mm thick.")).toBe("The handle is at most 1.000 inch thick.");
    expect(inch("It takes 1290 mm² of sheet.")).toBe("It takes 2.00 sq in of sheet.");
    expect(inch("A feed of 2540 mm/min is too fast")).toBe("A feed of 100.0 inch/min is too fast");
    expect(inch("never heat above 170 °C.")).toBe("never heat above 338 °F.");
    expect(inch("−10 °C")).toBe("14 °F");
  });

  it("keeps how fine a figure is told", () => {
    expect(inch("off by 0.5 mm")).toBe("off by 0.020 inch");
    expect(inch("a gouge of 0.004 mm")).toBe("a gouge of 0.0002 inch");
    expect(inch("edge at x = 42 mm, y = -3 mm")).toBe("edge at x = 1.65 inch, y = -0.12 inch");
  });

  it("takes every figure that shares a unit", () => {
    expect(inch("handles are 10 to 45 mm")).toBe("handles are 0.394 to 1.772 inch");
    expect(inch("a blank of 160 x 120 mm")).toBe("a blank of 6.299 x 4.724 inch");
    expect(inch("a piece of 50.8 x 25.4 x 12.7 mm is small")).toBe("a piece of 2.000 x 1.000 x 0.500 inch is small");
    expect(inch("ends are 1.0 and 2.0 mm thick")).toBe("ends are 0.039 and 0.079 inch thick");
    expect(inch("edge, x = 12 to 30 mm")).toBe("edge, x = 0.47 to 1.18 inch");
    expect(inch("the mesh is 2,540.0 mm long")).toBe("the mesh is 100.000 inch long");
  });

  it("takes places that state no unit", () => {
    expect(inch("near x = 127, y = 254 mm from the corner")).toBe("near x = 5.00, y = 10.00 inch from the corner");
    expect(inch("the hole of 6.0 mm at x 25.4, y 50.8 is deep")).toBe("the hole of 0.236 inch at x 1.000, y 2.000 is deep");
    expect(inch("pin (25.4, 50.8) of the board")).toBe("pin (1.000, 2.000) of the board");
    expect(inch("the outline crosses itself at (25.4, 50.8) mm")).toBe("the outline crosses itself at (1.000, 2.000) inch");
  });

  it("leaves all else as it is", () => {
    for (const words of [
      "T3 turns at 12000 rev/min and asks for 450 W",
      "30 N are asked, 12 % strain; 4 of 6 holes",
      'Write "mm" or "inch"',
      "The eyelet-6.4 is no eyelet",
      "2 sheaths, 12 min, line 240",
      "at 300 dots per inch",
    ]) {
      expect(inch(words)).toBe(words);
    }
    expect(inch("changes by 1.4 mm per mm of length")).toBe("changes by 1.4 inch per inch of length");
    expect(told("0.5 mm at 90 °C", "mm")).toBe("0.5 mm at 90 °C");
  });
});

const SOURCES = "../src/chape/";
/** Pages and commands have a unit of their own. */
const PLACES = ["sheath", "knife", "fit", "forming", "tooling", "cutting", "pipeline", "bench", "shop", "field"];

function sources(place: string): readonly string[] {
  const files = readdirSync(`${SOURCES}${place}`, { recursive: true });
  return files.filter((file) => file.endsWith(".py")).map((file) => readFileSync(`${SOURCES}${place}/${file}`, "utf8"));
}

/** Every sentence of a source, its figures filled in. */
function sentencesOf(source: string): readonly string[] {
  const joined = source.replace(/"""[\s\S]*?"""/g, "").replace(/"\s*\n\s*f?"/g, "");
  return [...joined.matchAll(/f?"((?:[^"\\\n{]|\{[^}\n]*\}|\\.)*)"/g)]
    .map((found) => (found[1] ?? "").replace(/\{[^}]*\}/g, "12.5"))
    .filter((words) => words.includes(" ") && !words.includes("(?"));
}

describe("every sentence of chape", () => {
  it("leaves no figure in mm or °C", () => {
    const all = PLACES.flatMap(sources).flatMap(sentencesOf);
    const kept = all.filter((words) => /\d\s?(mm|°C)(?![\d])/.test(inch(words)));
    expect(all.filter((words) => /\d mm/.test(words)).length).toBeGreaterThan(150);
    expect(kept).toEqual([]);
  });
});
