/** What a colour stands for: the ramp with figures under it, in the unit of the page. */

import { bareLength, toShown, unit } from "../state/units";
import { rampGradient } from "./colours";
import { digitsFor, roundFigures } from "./scale";

export interface LegendProps {
  readonly title: string;
  /** Least and greatest, mm; null: shares, which have no unit. */
  readonly span: readonly [number, number] | null;
  /** What the two ends mean, in a word. */
  readonly ends?: readonly [string, string] | undefined;
  /** Least and greatest figure anywhere, mm: told where the scale doesn't reach them. */
  readonly range?: readonly [number, number] | undefined;
  /** How another ramp looks, as a gradient from left to right. */
  readonly gradient?: string;
}

export function Legend({ title, span, ends, range, gradient = rampGradient() }: LegendProps) {
  const flat = span !== null && span[1] - span[0] < 1e-9;
  return (
    <div class="legend">
      <span class="legend-title">{span === null ? title : `${title}, ${unit.value}`}</span>
      {flat ? (
        <span>{bareLength(span[0])} everywhere</span>
      ) : (
        <div class={span === null ? "legend-ramp legend-bare" : "legend-ramp"}>
          <div class="legend-colours" style={{ backgroundImage: gradient }} />
          {span === null ? null : <Figures span={span} />}
        </div>
      )}
      {ends === undefined || flat ? null : (
        <div class="legend-ends">
          <span>{beyond(ends[0], range?.[0], span?.[0])}</span>
          <span>{beyond(ends[1], range?.[1], span?.[1])}</span>
        </div>
      )}
    </div>
  );
}

/** What an end means, and how far figures go beyond it. */
function beyond(word: string, farthest: number | undefined, end: number | undefined): string {
  if (farthest === undefined || end === undefined || bareLength(farthest) === bareLength(end)) return word;
  return `${word}, to ${bareLength(farthest)}`;
}

function Figures({ span: [least, greatest] }: { span: readonly [number, number] }) {
  const [from, to] = [toShown(least), toShown(greatest)];
  const figures = roundFigures(from, to, 4);
  const step = figures.length > 1 ? (figures[1] as number) - (figures[0] as number) : to - from;
  return (
    <>
      <ol class="legend-figures" aria-hidden="true">
        {figures.map((figure) => (
          <li key={figure} style={{ left: `${(100 * (figure - from)) / (to - from)}%` }}>
            {figure.toFixed(digitsFor(step))}
          </li>
        ))}
      </ol>
      <span class="unseen">
        From {bareLength(least)} to {bareLength(greatest)} {unit.value}
      </span>
    </>
  );
}
