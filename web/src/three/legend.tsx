/** What a colour stands for: the ramp with figures under it, in the unit of the page. */

import { bareLength, fromShown, toShown, unit } from "../state/units";
import { rampGradient } from "./colours";
import { digitsFor, roundFigures } from "./scale";

export interface LegendProps {
  readonly title: string;
  /** Least and greatest, mm. */
  readonly span: readonly [number, number];
  /** What the two ends mean, in a word. */
  readonly ends?: readonly [string, string] | undefined;
  /** How another ramp looks, as a gradient from left to right. */
  readonly gradient?: string;
}

export function Legend({ title, span, ends, gradient }: LegendProps) {
  const [least, greatest] = span;
  const shown = [toShown(least), toShown(greatest)] as const;
  const figures = roundFigures(shown[0], shown[1], 4);
  const step = figures.length > 1 ? (figures[1] as number) - (figures[0] as number) : shown[1] - shown[0];
  const digits = step > 0 ? digitsFor(step) : 2;
  const flat = greatest - least < 1e-9;
  return (
    <div class="legend">
      <span class="legend-title">
        {title}, {unit.value}
      </span>
      {flat ? (
        <span class="legend-flat">{bareLength(least)} everywhere</span>
      ) : (
        <div class="legend-ramp">
          <div class="legend-colours" style={{ backgroundImage: gradient ?? rampGradient() }} />
          <ol class="legend-figures" aria-hidden="true">
            {figures.map((figure) => (
              <li key={figure} style={{ left: `${(100 * (figure - shown[0])) / (shown[1] - shown[0])}%` }}>
                {figure.toFixed(digits)}
              </li>
            ))}
          </ol>
          <span class="unseen">
            From {bareLength(least)} to {bareLength(greatest)} {unit.value}
          </span>
        </div>
      )}
      {ends === undefined || flat ? null : (
        <div class="legend-ends">
          <span>{ends[0]}</span>
          <span>{ends[1]}</span>
        </div>
      )}
    </div>
  );
}

/** Round a bound outward to a figure one can read, mm. */
export function outward(mm: number, up: boolean): number {
  const grain = fromShown(toShown(0.05));
  return (up ? Math.ceil(mm / grain) : Math.floor(mm / grain)) * grain;
}
