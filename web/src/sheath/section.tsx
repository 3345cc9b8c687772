/** The sheath cut across at a station: knife, sheet, and the room between them with its measure. */

import { Drawing } from "../drawing/drawing";
import { boxOf, type Frame, onScreen, pathOf } from "../drawing/frame";
import type { Line, Point } from "../state/types";
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
      box={{ ...box, y0: box.y0 - 2, y1: box.y1 + 2 }}
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
          {section.dimensions.map((dimension, i) => (
            <Dimension key={i} frame={frame} {...dimension} />
          ))}
        </>
      )}
    </Drawing>
  );
}

function rims(frame: Frame, lines: readonly Line[]): string {
  return lines.map((line) => pathOf(frame, line, true)).join("");
}

interface DimensionProps {
  readonly frame: Frame;
  readonly start: Point;
  readonly end: Point;
  readonly value: number;
  readonly label: string;
}

/** The gap itself is often too small to write in: a leader goes out from it to its figure. */
function Dimension({ frame, start, end, value, label }: DimensionProps) {
  const [x0, y0] = onScreen(frame, ...start);
  const [x1, y1] = onScreen(frame, ...end);
  const [mx, my] = [(x0 + x1) / 2, (y0 + y1) / 2];
  const long = Math.hypot(x1 - x0, y1 - y0) || 1;
  const [wx, wy] = [(x1 - x0) / long, (y1 - y0) / long];
  const flat = Math.abs(wx) > Math.abs(wy);
  const [tx, ty] = flat ? [x1 + wx * 30, my - 34] : [mx + 26, y1 + wy * 34];
  const anchor = flat && wx < 0 ? "end" : "start";
  return (
    <g class="dimension">
      <path class="dimension-gap" d={`M${x0} ${y0}L${x1} ${y1}`} />
      <path d={`M${mx} ${my}L${tx} ${ty}`} />
      <text x={tx + (anchor === "end" ? -5 : 5)} y={ty + 5} text-anchor={anchor}>
        {length(value, 2)}
        <tspan class="dimension-word"> {label}</tspan>
      </text>
    </g>
  );
}
