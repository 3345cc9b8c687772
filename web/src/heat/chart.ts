/** Where a curve's points lie on a drawing, and what it says at a time. */

import { roundFigures } from "../three/scale";
import type { Curve } from "./types";
import { type LengthUnit, toCelsius, toFahrenheit, unit } from "../state/units";

export interface Frame {
  /** Of the drawing, and of the margins to its plot, in dots. */
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export interface Scales {
  readonly seconds: readonly [number, number];
  readonly celsius: readonly [number, number];
  readonly x: (seconds: number) => number;
  readonly y: (celsius: number) => number;
}

/** Scales in which every curve and every level has room; null where there is no point to draw. */
export function scalesFor(curves: readonly Curve[], levels: readonly number[], frame: Frame): Scales | null {
  const times = curves.flatMap(({ seconds }) => seconds).filter(Number.isFinite);
  const heats = [...curves.flatMap(({ celsius }) => celsius), ...levels].filter(Number.isFinite);
  if (times.length === 0 || heats.length === 0) return null;
  const seconds = [0, Math.max(1, ...times)] as const;
  const celsius = [Math.floor(Math.min(...heats) / 20) * 20, Math.ceil((Math.max(...heats) + 5) / 20) * 20] as const;
  const wide = frame.width - frame.left - frame.right;
  const high = frame.height - frame.top - frame.bottom;
  return {
    seconds,
    celsius,
    x: (at) => frame.left + (wide * (at - seconds[0])) / (seconds[1] - seconds[0]),
    y: (at) => frame.top + high * (1 - (at - celsius[0]) / (celsius[1] - celsius[0])),
  };
}

/** A path's `d` through the points of a curve. */
export function pathOf({ seconds, celsius }: Curve, { x, y }: Scales): string {
  return seconds
    .map((at, i) => `${i === 0 ? "M" : "L"}${x(at).toFixed(1)} ${y(celsius[i] ?? 0).toFixed(1)}`)
    .join("");
}

/** What a curve says at a time, between its points by a straight line; null outside it. */
export function valueAt({ seconds, celsius }: Curve, at: number): number | null {
  const after = seconds.findIndex((each) => each >= at);
  if (after < 0) return null;
  const [t1, c1] = [seconds[after] as number, celsius[after] as number];
  if (after === 0) return at === t1 ? c1 : null;
  const [t0, c0] = [seconds[after - 1] as number, celsius[after - 1] as number];
  return t1 === t0 ? c1 : c0 + ((at - t0) / (t1 - t0)) * (c1 - c0);
}

/** Marks along the time: seconds as long as they are few, then whole minutes. */
export function timeMarks(until: number): number[] {
  if (until <= 150) return roundFigures(0, until, 6);
  const minutes = Math.max(1, Math.ceil(until / 60 / 7));
  return Array.from({ length: Math.floor(until / 60 / minutes) + 1 }, (_, i) => i * minutes * 60);
}

/** A mark in words, of the unit that all marks have. */
export function timeWord(seconds: number, until: number): string {
  return until <= 150 ? `${seconds} s` : `${seconds / 60} min`;
}

/** Round temperatures of the scale shown, in reading order, and where they lie in °C. */
export function heatMarks([least, most]: readonly [number, number], shown: LengthUnit = unit.value): { celsius: number; words: string }[] {
  if (shown === "mm") return roundFigures(least, most, 6).map((celsius) => ({ celsius, words: `${celsius} °C` }));
  const marks = roundFigures(toFahrenheit(least), toFahrenheit(most), 6);
  return marks.map((figure) => ({ celsius: toCelsius(figure), words: `${figure} °F` }));
}

/** How near, in dots, the curves come to a level over a stretch of the time, told in shares of it. */
export function roomAt(curves: readonly Curve[], { seconds, y }: Scales, level: number, from: number, to: number): number {
  const [start, end] = seconds;
  const times = Array.from({ length: 13 }, (_, i) => start + (end - start) * (from + ((to - from) * i) / 12));
  const heats = curves.flatMap((curve) => times.flatMap((at) => valueAt(curve, at) ?? []));
  return Math.min(Number.POSITIVE_INFINITY, ...heats.map((heat) => Math.abs(y(heat) - y(level))));
}
