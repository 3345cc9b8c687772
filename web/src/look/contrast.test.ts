import { describe, expect, it } from "vitest";
import css from "./tokens.css?raw";

type Colours = ReadonlyMap<string, string>;

function coloursOf(text: string): Colours {
  const found = [...text.matchAll(/--([a-z-]+): (#[0-9a-f]{6})/g)];
  return new Map(found.map(([, name, hex]) => [name ?? "", hex ?? ""]));
}

/** Relative luminance and contrast as WCAG 2.2 defines them. */
function luminance(hex: string): number {
  const [r = 0, g = 0, b = 0] = [1, 3, 5].map((at) => {
    const share = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(colours: Colours, one: string, other: string): number {
  const [a, b] = [one, other].map((name) => luminance(colours.get(name) ?? "#000000"));
  const [light, dark] = [Math.max(a ?? 0, b ?? 0), Math.min(a ?? 0, b ?? 0)];
  return (light + 0.05) / (dark + 0.05);
}

const dark = css.indexOf('[data-look="dark"]');
const LOOKS = {
  light: coloursOf(css.slice(0, dark)),
  dark: coloursOf(css.slice(dark)),
};

const WORDS = [
  ["ink", "paper"],
  ["ink-soft", "paper"],
  ["ink-soft", "felt"],
  ["ink-soft", "paper-sunk"],
  ["ink-soft", "brass-wash"],
  ["ink-soft", "stop-wash"],
  ["on-brass", "brass"],
  ["brass-deep", "paper"],
  ["good", "paper"],
  ["good", "brass-wash"],
  ["stop", "paper"],
  ["stop", "stop-wash"],
  ["stop", "brass-wash"],
] as const;

const SHAPES = [
  ["line-strong", "paper"],
  ["brass", "paper"],
  ["brass", "felt"],
  ["good", "felt"],
  ["stop", "felt"],
] as const;

describe.each(Object.entries(LOOKS))("the %s page", (_, colours) => {
  it.each(WORDS)("has words of %s that can be read on %s", (one, other) => {
    expect(contrast(colours, one, other)).toBeGreaterThanOrEqual(4.5);
  });

  it.each(SHAPES)("has lines of %s that can be seen on %s", (one, other) => {
    expect(contrast(colours, one, other)).toBeGreaterThanOrEqual(3);
  });
});

it("names every colour of the light page again for the dark one", () => {
  expect([...LOOKS.dark.keys()].sort()).toEqual([...LOOKS.light.keys()].sort());
});
