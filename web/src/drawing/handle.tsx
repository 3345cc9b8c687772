/** A point one takes hold of: by pointer, finger, or arrow keys, ten times as far with shift. */

import { useRef } from "preact/hooks";
import { type Frame, onScreen } from "./frame";
import { type LengthUnit, unit } from "../state/units";

type Way = "both" | "along" | "across";

interface Props {
  readonly frame: Frame;
  readonly at: readonly [number, number];
  readonly label: string;
  /** Which way it may go: along x, across it, or both. */
  readonly way?: Way;
  /** Instead: the one direction it may go, of length 1. */
  readonly along?: readonly [number, number] | undefined;
  readonly look?: "dot" | "hole" | "ring" | "diamond" | "bar" | "tab";
  readonly chosen?: boolean;
  /** Told on every move, at most once a picture; `stroke` names the drag. */
  readonly onMove: (to: readonly [number, number], stroke: string) => void;
  readonly onEnd?: () => void;
  readonly onChoose?: () => void;
}

const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
};

interface Grip {
  readonly px: number;
  readonly py: number;
  readonly from: readonly [number, number];
  readonly stroke: string;
  readonly scale: number;
}

/** Presses of an arrow key no further apart than this, ms, are taken back together. */
const PAUSE = 1200;

let strokes = 0;

/** How far one press of an arrow key moves a point, mm: a round figure of the unit shown. */
export function stepOf(shown: LengthUnit): number {
  return shown === "inch" ? 0.127 : 0.1;
}

/** The same in words. */
export function stepWords(shown: LengthUnit = unit.value): string {
  return shown === "inch" ? "five thousandths of an inch, with shift fifty" : "a tenth of a millimetre, with shift a whole one";
}

export function Handle(props: Props) {
  const { frame, at, label, way = "both", look = "dot", chosen = false } = props;
  const grip = useRef<Grip | null>(null);
  const asked = useRef<{ to: readonly [number, number]; picture: number } | null>(null);
  const pressed = useRef({ at: Number.NEGATIVE_INFINITY, stroke: "" });
  const tell = useRef(props.onMove);
  tell.current = props.onMove;
  const [px, py] = onScreen(frame, ...at);

  const held = (to: readonly [number, number], from: readonly [number, number]) => {
    if (!props.along) return [way === "across" ? from[0] : to[0], way === "along" ? from[1] : to[1]] as const;
    const [ux, uy] = props.along;
    const far = (to[0] - from[0]) * ux + (to[1] - from[1]) * uy;
    return [from[0] + far * ux, from[1] + far * uy] as const;
  };

  const take = (event: PointerEvent & { currentTarget: SVGElement }): void => {
    if (event.button !== 0) return;
    event.stopPropagation();
    event.currentTarget.setPointerCapture(event.pointerId);
    event.currentTarget.focus();
    strokes += 1;
    grip.current = {
      px: event.clientX,
      py: event.clientY,
      from: at,
      stroke: `drag ${strokes}`,
      scale: frame.scale,
    };
    props.onChoose?.();
  };
  const move = (event: PointerEvent): void => {
    const held0 = grip.current;
    if (!held0) return;
    event.stopPropagation();
    const to = held(
      [
        held0.from[0] + (event.clientX - held0.px) / held0.scale,
        held0.from[1] - (event.clientY - held0.py) / held0.scale,
      ],
      held0.from,
    );
    if (asked.current) {
      asked.current.to = to;
      return;
    }
    const picture = requestAnimationFrame(() => {
      const now = asked.current;
      asked.current = null;
      if (now) tell.current(now.to, held0.stroke);
    });
    asked.current = { to, picture };
  };
  const release = (event: PointerEvent): void => {
    const held0 = grip.current;
    if (!held0) return;
    event.stopPropagation();
    grip.current = null;
    if (asked.current) {
      cancelAnimationFrame(asked.current.picture);
      tell.current(asked.current.to, held0.stroke);
      asked.current = null;
    }
    props.onEnd?.();
  };
  const press = (event: KeyboardEvent): void => {
    const arrow = ARROWS[event.key];
    if (!arrow) return;
    if ((way === "along" && arrow[1]) || (way === "across" && arrow[0])) return;
    event.preventDefault();
    event.stopPropagation();
    const step = stepOf(unit.value) * (event.shiftKey ? 10 : 1);
    const [ux, uy] = props.along ? pushed(props.along, arrow) : arrow;
    const to = [at[0] + ux * step, at[1] + uy * step] as const;
    if (event.timeStamp - pressed.current.at > PAUSE) {
      strokes += 1;
      pressed.current.stroke = `keys ${strokes}`;
    }
    pressed.current.at = event.timeStamp;
    props.onMove(to, pressed.current.stroke);
  };
  return (
    <g
      class={`handle is-${look}${chosen ? " is-chosen" : ""}`}
      transform={`translate(${px.toFixed(2)} ${py.toFixed(2)})`}
      tabIndex={0}
      role="button"
      aria-roledescription="point to drag"
      aria-label={label}
      onPointerDown={take}
      onPointerMove={move}
      onPointerUp={release}
      onPointerCancel={release}
      onKeyDown={press}
      onBlur={() => props.onEnd?.()}
      onFocus={() => props.onChoose?.()}
    >
      <title>{label}</title>
      <circle class="handle-reach" r="22" />
      <Mark look={look} />
    </g>
  );
}

/** A whole step on its own line, the way the arrow points most; the other two arrows do nothing. */
function pushed(
  along: readonly [number, number],
  arrow: readonly [number, number],
): readonly [number, number] {
  const same = along[0] * arrow[0] + along[1] * arrow[1];
  if (Math.abs(same) < 0.35) return [0, 0];
  return same > 0 ? along : [-along[0], -along[1]];
}

function Mark({ look }: { look: NonNullable<Props["look"]> }) {
  if (look === "hole") return <circle class="handle-mark" r="4" />;
  if (look === "ring") return <circle class="handle-mark" r="9" />;
  if (look === "diamond") return <path class="handle-mark" d="M0-9L9 0 0 9-9 0z" />;
  if (look === "bar") return <rect class="handle-mark" x="-5" y="-15" width="10" height="30" rx="5" />;
  if (look === "tab") {
    return <path class="handle-mark" d="M-9-12h18v14l-9 10-9-10z" />;
  }
  return <circle class="handle-mark" r="5.5" />;
}
