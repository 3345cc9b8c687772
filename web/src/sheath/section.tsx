/** The sheath cut across at a station: knife, sheet, and the room between them with its measure. */

import { Drawing } from "../drawing/drawing";
import { boxOf, type Frame, onScreen, pathOf } from "../drawing/frame";
import type { Line } from "../state/types";
import { length } from "../state/units";
import type { Section } from "./types";

interface Props {
  readonly section: Section;
  readonly behind: boolean;
}

export function SectionDrawing({ section, behind }: Props) {
  const box = boxOf([...section.knife, ...section.sheet.flat()]) ?? { x0: -5, y0: -5, x1: 5, y1: 5 };
  return (
    <Drawing
      label={`Section ${length(section.x, 1)} from the tip`}
      box={{ ...box, y0: box.y0 - 1, y1: box.y1 + (box.y1 - box.y0) * 0.45 }}
      class={behind ? "is-section is-behind" : "is-section"}
    >
      {(frame, size) => (
        <>
          <g aria-hidden="true">
            <path class="sheet-cut" fill-rule="evenodd" d={rims(frame, section.sheet)} />
            <path class="knife-cut" d={pathOf(frame, section.knife, true)} />
            <text class="drawing-word" x="14" y="24">
              edge
            </text>
            <text class="drawing-word" x={size.width - 14} y="24" text-anchor="end">
              spine
            </text>
          </g>
          {placed(section, frame, size.width).map((each) => (
            <Dimension key={each.dimension.label} frame={frame} narrow={size.width < 480} {...each} />
          ))}
        </>
      )}
    </Drawing>
  );
}

function rims(frame: Frame, lines: readonly Line[]): string {
  return lines.map((line) => pathOf(frame, line, true)).join("");
}

type Gap = Section["dimensions"][number];

interface Placed {
  readonly dimension: Gap;
  /** Where its figure stands, in pixels from the left. */
  readonly x: number;
}

/** Figures stand in one row over the section, in the order of their gaps, so that none covers
 * another however near the gaps lie. */
function placed(section: Section, frame: Frame, width: number): readonly Placed[] {
  const sorted = [...section.dimensions].sort((a, b) => a.start[0] - b.start[0]);
  const room = Math.min(190, (width - 40) / Math.max(sorted.length, 1));
  const wanted = sorted.map((gap) => onScreen(frame, ...gap.start)[0]);
  const xs: number[] = [];
  wanted.forEach((x, i) => {
    const least = i === 0 ? 20 + room / 2 : (xs[i - 1] ?? 0) + room;
    const most = width - 20 - room / 2 - room * (sorted.length - 1 - i);
    xs.push(Math.max(least, Math.min(x, most)));
  });
  return sorted.map((dimension, i) => ({ dimension, x: xs[i] ?? width / 2 }));
}

/** The gap itself is often too small to write in: a leader goes out from it to its figure. */
function Dimension({ frame, dimension, x, narrow }: Placed & { frame: Frame; narrow: boolean }) {
  const { start, end, value, label } = dimension;
  const [x0, y0] = onScreen(frame, ...start);
  const [x1, y1] = onScreen(frame, ...end);
  const high = 44;
  return (
    <g class="dimension">
      <path class="dimension-gap" d={`M${x0} ${y0}L${x1} ${y1}`} />
      <path d={`M${(x0 + x1) / 2} ${(y0 + y1) / 2}L${x} ${high + (narrow ? 23 : 8)}`} />
      <text x={x} y={high} text-anchor="middle">
        {length(value, 2)}
        {narrow ? (
          <tspan class="dimension-word" x={x} dy="16">
            {label}
          </tspan>
        ) : (
          <tspan class="dimension-word"> {label}</tspan>
        )}
      </text>
    </g>
  );
}
