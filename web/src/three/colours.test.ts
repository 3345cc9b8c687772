import { describe, expect, it } from "vitest";
import { mixed, mixGradient, parseColour, rampAt, rampBytes, type Rgb, toOklab } from "./colours";

const shares = Array.from({ length: 33 }, (_, i) => i / 32);

/**
 * What people without red, without green, or without blue receptors see: one-plane models in linear
 * light, their figures from memory (for red and green they only drop what can't be told apart).
 */
const SIGHTS: Record<string, readonly Rgb[]> = {
  "without red": [[0.11238, 0.88762, 0], [0.11238, 0.88762, 0], [0.00401, -0.00401, 1]],
  "without green": [[0.29275, 0.70725, 0], [0.29275, 0.70725, 0], [-0.02234, 0.02234, 1]],
  "in grey": [[0.2126, 0.7152, 0.0722], [0.2126, 0.7152, 0.0722], [0.2126, 0.7152, 0.0722]],
};

function seen(colour: Rgb, sight: readonly Rgb[]): Rgb {
  const linear = colour.map((band) => (band <= 0.04045 ? band / 12.92 : ((band + 0.055) / 1.055) ** 2.4));
  return sight.map((row) => {
    const light = Math.max(0, row.reduce((sum, weight, i) => sum + weight * (linear[i] as number), 0));
    return light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055;
  }) as unknown as Rgb;
}

const apart = (a: Rgb, b: Rgb): number => Math.hypot(...a.map((value, i) => value - (b[i] as number)));

describe("the ramp of colours", () => {
  it("grows lighter by equal steps", () => {
    const lightness = shares.map((share) => toOklab(rampAt(share))[0]);
    lightness.slice(1).forEach((value, i) => expect(value - (lightness[i] as number)).toBeCloseTo(0.6 / 32, 3));
  });

  it("lies within what a display shows, so that nothing of it is cut off", () => {
    for (const share of shares) {
      for (const band of rampAt(share)) {
        expect(band).toBeGreaterThan(0.001);
        expect(band).toBeLessThan(0.999);
      }
    }
  });

  it.each(Object.entries(SIGHTS))("is told apart by eyes %s", (_, sight) => {
    const colours = shares.map((share) => toOklab(seen(rampAt(share), sight)));
    colours.slice(1).forEach((colour, i) => expect(colour[0]).toBeGreaterThan((colours[i] as Rgb)[0]));
    for (let i = 8; i < colours.length; i += 1) {
      expect(apart(colours[i] as Rgb, colours[i - 8] as Rgb)).toBeGreaterThan(0.1);
    }
  });

  it("fills a texture from end to end", () => {
    const bytes = rampBytes();
    expect(bytes.length).toBe(1024);
    expect(bytes[1023]).toBe(255);
    expect(bytes[1020]).toBe(Math.round(255 * rampAt(1)[0]));
  });
});

it("a colour is read as a style sheet writes it", () => {
  expect(parseColour(" #ff8000 ")).toEqual([1, 128 / 255, 0]);
  expect(parseColour("bisque")).toEqual([0.5, 0.5, 0.5]);
});

it("a mix begins with the one colour and ends with the other", () => {
  expect(mixed("#d9a441", "#5a2410", 0).map((band) => Math.round(255 * band))).toEqual([0xd9, 0xa4, 0x41]);
  expect(mixed("#d9a441", "#5a2410", 1).map((band) => Math.round(255 * band))).toEqual([0x5a, 0x24, 0x10]);
  expect(mixGradient("#ffffff", "#000000", 2)).toBe("linear-gradient(to right, rgb(255 255 255), rgb(0 0 0))");
});
