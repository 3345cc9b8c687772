/**
 * The colours that stand for a figure: one ramp, dark to light, readable with colour-vision
 * deficiency and in black and white, because its lightness rises by equal steps.
 *
 * It is computed here, in the Oklab space (published 2020, the matrices below are its own): from a
 * deep blue by verdigris to a pale brass. Blue to yellow is the one axis that people with weak red
 * or green sight share with everyone else.
 */

export type Rgb = readonly [number, number, number];

/** Lightness, green-red and blue-yellow of the ramp's corners, evenly spread over it. */
const CORNERS: readonly Rgb[] = [
  [0.27, -0.005, -0.105],
  [0.42, -0.035, -0.075],
  [0.57, -0.055, -0.005],
  [0.72, -0.04, 0.085],
  [0.87, 0.0, 0.14],
];

const STEPS = 256;

export function fromOklab([lightness, a, b]: Rgb): Rgb {
  const long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const middle = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const short = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3;
  const linear = [
    4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short,
    -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short,
    -0.0041960863 * long - 0.7034186147 * middle + 1.707614701 * short,
  ];
  return linear.map(toDisplay) as unknown as Rgb;
}

export function toOklab(colour: Rgb): Rgb {
  const [red, green, blue] = colour.map(toLinear) as unknown as Rgb;
  const long = Math.cbrt(0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue);
  const middle = Math.cbrt(0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue);
  const short = Math.cbrt(0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue);
  return [
    0.2104542553 * long + 0.793617785 * middle - 0.0040720468 * short,
    1.9779984951 * long - 2.428592205 * middle + 0.4505937099 * short,
    0.0259040371 * long + 0.7827717662 * middle - 0.808675766 * short,
  ];
}

/** The ramp at a share of its length; red, green, blue from 0 to 1 as a display takes them. */
export function rampAt(share: number): Rgb {
  const along = Math.min(1, Math.max(0, share)) * (CORNERS.length - 1);
  const piece = Math.min(CORNERS.length - 2, Math.floor(along));
  const part = along - piece;
  const from = CORNERS[piece] as Rgb;
  const to = CORNERS[piece + 1] as Rgb;
  return fromOklab(from.map((value, i) => value + part * ((to[i] as number) - value)) as unknown as Rgb);
}

/** The whole ramp as bytes for a texture of 256 by 1: red, green, blue, opaque. */
export function rampBytes(): Uint8Array<ArrayBuffer> {
  const bytes = new Uint8Array(STEPS * 4);
  for (let step = 0; step < STEPS; step += 1) {
    const colour = rampAt(step / (STEPS - 1));
    for (let band = 0; band < 3; band += 1) bytes[4 * step + band] = Math.round(255 * (colour[band] as number));
    bytes[4 * step + 3] = 255;
  }
  return bytes;
}

/** The ramp as a style sheet's gradient, left to right; turned, it begins with the lightest. */
export function rampGradient(turned = false, stops = 9): string {
  const colours = Array.from({ length: stops }, (_, i) => cssColour(rampAt(i / (stops - 1))));
  if (turned) colours.reverse();
  return `linear-gradient(to right, ${colours.join(", ")})`;
}

/** Between two colours, evenly to the eye: red, green, blue at a share of the way. */
export function mixed(from: string, to: string, share: number): Rgb {
  const [start, end] = [toOklab(parseColour(from)), toOklab(parseColour(to))];
  return fromOklab(start.map((value, i) => value + share * ((end[i] as number) - value)) as unknown as Rgb);
}

/** The same as a style sheet's gradient, left to right. */
export function mixGradient(from: string, to: string, stops = 7): string {
  const colours = Array.from({ length: stops }, (_, i) => cssColour(mixed(from, to, i / (stops - 1))));
  return `linear-gradient(to right, ${colours.join(", ")})`;
}

export function cssColour(colour: Rgb): string {
  return `rgb(${colour.map((band) => Math.round(255 * band)).join(" ")})`;
}

/** Red, green, blue of a colour as a style sheet writes it (#rrggbb); mid grey if it is another form. */
export function parseColour(text: string): Rgb {
  const match = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(text.trim());
  if (match === null) return [0.5, 0.5, 0.5];
  return [1, 2, 3].map((band) => Number.parseInt(match[band] as string, 16) / 255) as unknown as Rgb;
}

function toLinear(band: number): number {
  return band <= 0.04045 ? band / 12.92 : ((band + 0.055) / 1.055) ** 2.4;
}

function toDisplay(band: number): number {
  const bounded = Math.min(1, Math.max(0, band));
  return bounded <= 0.0031308 ? 12.92 * bounded : 1.055 * bounded ** (1 / 2.4) - 0.055;
}
