/**
 * Sentences of the server in the unit shown. All computing is in mm and °C, and so are its words;
 * what a person reads follows the switch, at once and without asking for the sentence again.
 */

import { toFahrenheit, toShown, type LengthUnit, unit } from "./units";

const NUMBER = String.raw`[-−]?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?(?:e[-+]?\d+)?`;
/** Figures that share the unit behind the last: `3 to 5 mm`, `160 x 120 mm`, `(3, 5) mm`. */
const MANY = String.raw`${NUMBER}(?:(?: to | and | or | x | × |[-–x×])${NUMBER})*`;
const UNITS = String.raw`mm per mm|mm\/mm|mm\/min|mm²|mm|°C`;
/** A place is in mm even where no unit stands behind it: `at x 12.3, y 4.5`. */
const AXIS = String.raw`\b[xyzuv](?: = | )`;
const PAIR = String.raw`\((${NUMBER}), (${NUMBER})\)`;

const QUANTITY = new RegExp(
  String.raw`(${AXIS})?(?<![\w.])(${MANY})(?:[ \u00a0]?(${UNITS})(?![\w²/]))?|${PAIR}(?: mm\b)?`,
  "g",
);
const ONE = new RegExp(NUMBER, "g");

const SHOWN_UNITS: Readonly<Record<string, string>> = {
  mm: "inch",
  "mm²": "sq in",
  "mm/min": "inch/min",
  "°C": "°F",
  "mm per mm": "inch per inch",
  "mm/mm": "inch/inch",
};

/** Words of the server as they are shown: lengths in inch and temperatures in °F where inch is. */
export function told(words: string, shown: LengthUnit = unit.value): string {
  if (shown === "mm") return words;
  return words.replace(QUANTITY, (whole: string, axis?: string, figures?: string, of?: string) => {
    if (figures === undefined) return whole.replace(ONE, (each) => converted(each, "mm", true)).replace(/mm$/, "inch");
    if (axis === undefined && of === undefined) return whole;
    const inOther = figures.replace(ONE, (each) => converted(each, of ?? "mm", axis !== undefined));
    return `${axis ?? ""}${inOther}${of === undefined ? "" : ` ${SHOWN_UNITS[of]}`}`;
  });
}

/** One figure of a unit. Where a place is told to the millimetre, a hundredth of an inch is as fine. */
function converted(figure: string, of: string, isPlace: boolean): string {
  const value = Number(figure.replace("−", "-").replaceAll(",", ""));
  const places = /\.(\d+)/.exec(figure)?.[1]?.length ?? 0;
  switch (of) {
    case "°C":
      return toFahrenheit(value).toFixed(places);
    case "mm²":
      return toShown(toShown(value, "inch"), "inch").toFixed(2);
    case "mm/min":
      return toShown(value, "inch").toFixed(1);
    case "mm":
      return toShown(value, "inch").toFixed(isPlace && places === 0 ? 2 : Math.max(3, Math.min(4, places + 1)));
    default:
      return figure;
  }
}
