/** Temperatures over time: curves, the levels that matter, the moment one waits for and how sure it is. */

import { useEffect, useRef, useState } from "preact/hooks";
import { countdown } from "../shop/clock";
import { type Frame, heatMarks, pathOf, type Scales, roomAt, scalesFor, timeMarks, timeWord, valueAt } from "./chart";
import type { Curve, Estimate } from "./types";
import { temperature } from "../state/units";

export interface Level {
  readonly celsius: number;
  readonly words: string;
  readonly mood: "good" | "stop";
}

export interface Moment {
  readonly at: Estimate;
  readonly words: string;
  readonly mood: "good" | "stop";
}

interface ChartProps {
  readonly title: string;
  readonly curves: readonly Curve[];
  readonly levels: readonly Level[];
  readonly moments: readonly Moment[];
}

/** How each curve is drawn, so that none is told apart by colour alone. */
const STROKES = [undefined, "9 5", "2 5", "12 4 2 4"] as const;

export function Chart({ title, curves, levels, moments }: ChartProps) {
  const [ref, width] = useWidth();
  const frame: Frame = { width, height: Math.min(340, Math.max(230, 0.5 * width)), left: 62, right: 14, top: 14, bottom: 34 };
  const scales = scalesFor(curves, levels.map(({ celsius }) => celsius), frame);
  const [at, setAt] = useState<number | null>(null);
  return (
    <figure class="chart" ref={ref}>
      <ul class="chart-key">
        {curves.map((curve, i) => (
          <li key={curve.title}>
            <svg width="34" height="12" aria-hidden="true">
              <path d="M1 6H33" class={`curve curve-${i}`} stroke-dasharray={STROKES[i]} />
            </svg>
            {curve.title}
          </li>
        ))}
      </ul>
      {scales === null ? (
        <p class="quiet">There is nothing to draw.</p>
      ) : (
        <>
          <svg width={width} height={frame.height} role="img" aria-label={`${title}: ${spoken(curves, moments)}`}>
            <Ruled scales={scales} frame={frame} />
            {curves.map((curve, i) => (
              <path key={curve.title} d={pathOf(curve, scales)} class={`curve curve-${i}`} stroke-dasharray={STROKES[i]} />
            ))}
            {levels.map((level) => (
              <LevelLine key={level.words} level={level} curves={curves} scales={scales} frame={frame} />
            ))}
            {moments.map((moment, i) => (
              <MomentBand key={moment.words} moment={moment} row={i} curves={curves} scales={scales} frame={frame} />
            ))}
            {at === null ? null : <path class="chart-cursor" d={`M${scales.x(at)} ${frame.top}V${frame.height - frame.bottom}`} />}
          </svg>
          <ReadOff curves={curves} until={scales.seconds[1]} at={at} move={setAt} />
        </>
      )}
    </figure>
  );
}

function Ruled({ scales, frame }: { scales: Scales; frame: Frame }) {
  const floor = frame.height - frame.bottom;
  return (
    <g class="chart-rules">
      {heatMarks(scales.celsius).map(({ celsius, words }) => (
        <g key={words}>
          <path d={`M${frame.left} ${scales.y(celsius)}H${frame.width - frame.right}`} />
          <text x={frame.left - 8} y={scales.y(celsius) + 5} text-anchor="end">
            {words}
          </text>
        </g>
      ))}
      {timeMarks(scales.seconds[1]).map((seconds) => (
        <g key={seconds}>
          <path d={`M${scales.x(seconds)} ${floor}v6`} />
          <text x={scales.x(seconds)} y={floor + 24} text-anchor={scales.x(seconds) > frame.width - 40 ? "end" : "middle"}>
            {timeWord(seconds, scales.seconds[1])}
          </text>
        </g>
      ))}
    </g>
  );
}

interface LevelLineProps {
  readonly level: Level;
  readonly curves: readonly Curve[];
  readonly scales: Scales;
  readonly frame: Frame;
}

/** Its words stand at the end of the line that the curves keep further from. */
function LevelLine({ level, curves, scales, frame }: LevelLineProps) {
  const y = scales.y(level.celsius);
  const left = roomAt(curves, scales, level.celsius, 0, 0.3) >= roomAt(curves, scales, level.celsius, 0.7, 1);
  return (
    <g class={`level level-${level.mood}`}>
      <path d={`M${frame.left} ${y}H${frame.width - frame.right}`} />
      <text x={left ? frame.left + 8 : frame.width - frame.right - 8} y={y - 6} text-anchor={left ? "start" : "end"}>
        {level.words}, {temperature(level.celsius)}
      </text>
    </g>
  );
}

interface MomentBandProps {
  readonly moment: Moment;
  /** Words of several moments stand in rows of their own: none covers another's. */
  readonly row: number;
  readonly curves: readonly Curve[];
  readonly scales: Scales;
  readonly frame: Frame;
}

function MomentBand({ moment: { at, words, mood }, row, curves, scales, frame }: MomentBandProps) {
  if (at.value > scales.seconds[1]) return null;
  const floor = frame.height - frame.bottom;
  const within = (seconds: number): number => scales.x(Math.min(scales.seconds[1], Math.max(0, seconds)));
  const [x, low, high] = [within(at.value), within(at.value - at.spread), within(at.value + at.spread)];
  // Its words stand where the curves are not: at the foot while they are high, else at the head.
  const heats = curves.flatMap((curve) => valueAt(curve, at.value) ?? []);
  const mean = heats.reduce((sum, heat) => sum + scales.y(heat), 0) / Math.max(1, heats.length);
  const foot = mean < (frame.top + floor) / 2;
  const late = x > 0.6 * frame.width;
  return (
    <g class={`moment moment-${mood}`}>
      <rect x={low} y={frame.top} width={Math.max(1, high - low)} height={floor - frame.top} />
      <path d={`M${x} ${frame.top}V${floor}`} />
      <text x={x + (late ? -7 : 7)} y={foot ? floor - 10 - 20 * row : frame.top + 16 + 20 * row} text-anchor={late ? "end" : "start"}>
        {words}, {Math.round(at.value)} s
      </text>
    </g>
  );
}

/** Read the curves off at a time one chooses, with a finger or by keys. */
function ReadOff({ curves, until, at, move }: { curves: readonly Curve[]; until: number; at: number | null; move: (at: number) => void }) {
  const shown = at ?? 0;
  const told = curves.flatMap((curve) => {
    const value = valueAt(curve, shown);
    return value === null ? [] : [`${curve.title} ${temperature(value)}`];
  });
  return (
    <label class="read-off">
      <span class="unseen">Read off at a time</span>
      <input
        type="range"
        min="0"
        max={until}
        step="1"
        value={shown}
        aria-valuetext={`${countdown(shown)}: ${told.join(", ")}`}
        onInput={(event) => move(event.currentTarget.valueAsNumber)}
      />
      <output class="quiet">{at === null ? "Slide to read it off." : `At ${countdown(shown)}: ${told.join(", ")}.`}</output>
    </label>
  );
}

function spoken(curves: readonly Curve[], moments: readonly Moment[]): string {
  const ends = curves.map(({ title, celsius }) => `${title} from ${temperature(celsius[0] ?? 0)} to ${temperature(celsius.at(-1) ?? 0)}`);
  return [...ends, ...moments.map(({ words, at }) => `${words} after ${Math.round(at.value)} s`)].join("; ");
}

/** The width a drawing has, in dots. */
function useWidth(): [(element: HTMLElement | null) => void, number] {
  const [width, setWidth] = useState(600);
  const element = useRef<HTMLElement | null>(null);
  useEffect(() => {
    if (element.current === null) return;
    const watched = new ResizeObserver(([entry]) => {
      if (entry !== undefined && entry.contentRect.width > 0) setWidth(Math.round(entry.contentRect.width));
    });
    watched.observe(element.current);
    return () => watched.disconnect();
  }, []);
  const hold = useRef((found: HTMLElement | null) => {
    element.current = found;
  });
  return [hold.current, width];
}
