/** Lengths travel in mm; only what is shown and typed follows the switch. */

import { effect, signal } from "@preact/signals";

export type LengthUnit = "mm" | "inch";

const MM_PER_INCH = 25.4;

export const unit = signal<LengthUnit>(readUnit());

function readUnit(): LengthUnit {
  try {
    return localStorage.getItem("chape.unit") === "inch" ? "inch" : "mm";
  } catch {
    return "mm";
  }
}

effect(() => {
  try {
    localStorage.setItem("chape.unit", unit.value);
  } catch {
    // A browser that keeps nothing begins in mm again.
  }
});

/** A length in mm as a number of the unit shown. */
export function toShown(mm: number, shown: LengthUnit = unit.value): number {
  return shown === "inch" ? mm / MM_PER_INCH : mm;
}

/** A number of the unit shown as mm, rounded to a ten-thousandth: what a page can mean. */
export function fromShown(value: number, shown: LengthUnit = unit.value): number {
  const mm = shown === "inch" ? value * MM_PER_INCH : value;
  return Math.round(mm * 1e4) / 1e4;
}

/** A length in words: `0.52 mm`, `0.020 inch`. `places` counts decimals of a millimetre. */
export function length(mm: number | null | undefined, places = 2, shown = unit.value): string {
  if (mm === null || mm === undefined || !Number.isFinite(mm)) return "–";
  return `${bareLength(mm, places, shown)} ${shown}`;
}

/** The same without its unit. Inches need one decimal more for the same fineness, from 0.1 mm on. */
export function bareLength(mm: number, places = 2, shown = unit.value): string {
  const decimals = shown === "inch" ? places + 1 : places;
  const rounded = Math.round(toShown(mm, shown) * 10 ** decimals) / 10 ** decimals;
  return rounded.toFixed(decimals).replace("-", "−");
}

/** An area in mm² in words: cm² or square inch. */
export function area(mm2: number | null | undefined, shown = unit.value): string {
  if (mm2 === null || mm2 === undefined || !Number.isFinite(mm2)) return "–";
  return shown === "inch"
    ? `${(mm2 / MM_PER_INCH ** 2).toFixed(1)} sq in`
    : `${(mm2 / 100).toFixed(0)} cm²`;
}

/** Seconds as a person says them: `40 s`, `12 min`, `1 h 05`. */
export function duration(seconds: number | null | undefined): string {
  if (seconds === null || seconds === undefined || !Number.isFinite(seconds)) return "–";
  if (seconds < 90) return `${Math.round(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < 90) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")}`;
}

/** A temperature on the scale that goes with the unit shown, °F with inch. */
export function temperature(celsius: number, shown = unit.value): string {
  return shown === "inch" ? `${Math.round(toFahrenheit(celsius))} °F` : `${Math.round(celsius)} °C`;
}

export function degrees(shown = unit.value): "°C" | "°F" {
  return shown === "inch" ? "°F" : "°C";
}

export function toCelsius(fahrenheit: number): number {
  return ((fahrenheit - 32) * 5) / 9;
}

export function toFahrenheit(celsius: number): number {
  return (celsius * 9) / 5 + 32;
}

/** A figure of any of the server's units, no finer than it deserves; `places` counts decimals of a mm. */
export function figure(value: number, of: string, places?: number, shown = unit.value): string {
  switch (of) {
    case "mm":
      return length(value, places ?? (Math.abs(value) < 0.1 ? 3 : 2), shown);
    case "mm²":
      return area(value, shown);
    case "mm/min":
      return shown === "inch" ? `${(value / MM_PER_INCH).toFixed(1)} inch/min` : `${Math.round(value)} mm/min`;
    case "mm/mm":
      return `${digits(value)} ${shown}/${shown}`;
    case "°C":
      return temperature(value, shown);
    case "share":
      return `${digits(100 * value)} %`;
    case "diameters":
      return `${value.toFixed(1)} ${of}`;
    default:
      return `${digits(value)} ${of}`.trim();
  }
}

function digits(value: number): string {
  const round = Math.abs(value) >= 20 ? Math.round(value) : Number(value.toPrecision(2));
  return String(round).replace("-", "−");
}
