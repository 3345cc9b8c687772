/** Where a finding leads to, read from its place in words: a line of a text, or a place on a blank. */

import type { Finding } from "./types";

export interface Spot {
  /** Line of the text, counted over all texts of the program; null: none is told. */
  readonly line: number | null;
  /** mm on the blank; z is null where only the plan is told. */
  readonly at: readonly [x: number, y: number, z: number | null] | null;
}

const NUMBER = "(-?\\d+(?:\\.\\d+)?)";
const [X, Y, Z] = ["x", "y", "z"].map((axis) => new RegExp(`\\b${axis} (?:= )?${NUMBER}`)) as [RegExp, RegExp, RegExp];

export function spotOf({ where }: Pick<Finding, "where">): Spot | null {
  const words = where ?? "";
  // Of several texts each has lines of its own, and only the place leads anywhere.
  const line = / part \d/.test(words) ? null : figureIn(/\bline (\d+)/, words);
  const [x, y, z] = [figureIn(X, words), figureIn(Y, words), figureIn(Z, words)];
  const at = x === null || y === null ? null : ([x, y, z] as const);
  return line === null && at === null ? null : { line, at };
}

function figureIn(pattern: RegExp, words: string): number | null {
  const found = pattern.exec(words)?.[1];
  return found === undefined ? null : Number(found);
}
