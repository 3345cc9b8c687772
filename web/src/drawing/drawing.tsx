/** A drawing in millimetres that is moved and brought nearer by pointer, wheel, pinch and keys. */

import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { LessIcon, PlusIcon, WholeIcon } from "../look/icons";
import { unit } from "../state/units";
import { type Box, fit, type Frame, moved, roundLength, type Size, zoomed } from "./frame";
import "./drawing.css";

interface Props {
  /** What the drawing shows, for those who cannot see it. */
  readonly label: string;
  readonly box: Box;
  readonly children: (frame: Frame, size: Size) => ComponentChildren;
  /** Written over the drawing: keys, a legend. */
  readonly over?: ComponentChildren;
  readonly class?: string;
}

export function Drawing({ label, box, children, over, class: more = "" }: Props) {
  const hold = useRef<HTMLDivElement>(null);
  const [size, setSize] = useState<Size | null>(null);
  const [own, setOwn] = useState<Frame | null>(null);
  useLayoutEffect(() => watchSize(hold.current, setSize), []);
  const narrow = size !== null && size.width < NARROW;
  const frame = own ?? (size && (narrow ? fit(box, size, 14, KEYS_AT_FOOT) : fit(box, size, 30, KEYS_AT_SIDE)));
  const latest = useRef<Frame | null>(null);
  latest.current = frame;
  const show = (next: Frame): void => {
    latest.current = next;
    setOwn(next);
  };
  const pan = usePointers(latest, show);
  useEffect(() => onWheel(hold.current, latest, show), []);

  const nearer = (factor: number): void => {
    if (latest.current && size) show(zoomed(latest.current, factor, size.width / 2, size.height / 2));
  };
  const press = (event: KeyboardEvent): void => {
    if (event.target !== event.currentTarget || !latest.current) return;
    const step = KEYS[event.key];
    if (step) show(moved(latest.current, ...step));
    else if (event.key === "+" || event.key === "=") nearer(1.25);
    else if (event.key === "-") nearer(0.8);
    else if (event.key === "0") setOwn(null);
    else return;
    event.preventDefault();
  };
  return (
    <div class={`drawing ${more}`}>
      <div class="drawing-hold" ref={hold}>
        {frame && size && (
          <svg
            class={own ? "drawing-sheet is-near" : "drawing-sheet"}
            width={size.width}
            height={size.height}
            role="group"
            aria-label={`${label}. Arrow keys move it, plus and minus bring it nearer, 0 shows the whole`}
            tabIndex={0}
            onKeyDown={press}
            {...pan}
          >
            {children(frame, size)}
            <ScaleBar frame={frame} size={size} />
          </svg>
        )}
      </div>
      <div class={narrow ? "drawing-keys" : "drawing-keys is-column"}>
        <button type="button" onClick={() => nearer(1.4)} aria-label="Nearer" title="Nearer">
          <PlusIcon />
        </button>
        <button type="button" onClick={() => nearer(1 / 1.4)} aria-label="Further" title="Further">
          <LessIcon />
        </button>
        <button type="button" onClick={() => setOwn(null)} aria-label="Show the whole" title="Show the whole">
          <WholeIcon />
        </button>
      </div>
      {over}
    </div>
  );
}

/** Below this width the keys lie in a row at the foot, else in a column at the side, in pixels. */
const NARROW = 480;
const KEYS_AT_FOOT = { right: 0, foot: 52 } as const;
const KEYS_AT_SIDE = { right: 52, foot: 14 } as const;

const KEYS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [60, 0],
  ArrowRight: [-60, 0],
  ArrowUp: [0, 60],
  ArrowDown: [0, -60],
};

function watchSize(element: Element | null, take: (size: Size) => void): () => void {
  if (!element) return () => undefined;
  const observer = new ResizeObserver(([entry]) => {
    const rect = entry?.contentRect;
    if (rect && rect.width > 0) take({ width: rect.width, height: rect.height });
  });
  observer.observe(element);
  return () => observer.disconnect();
}

function onWheel(
  element: Element | null,
  latest: { current: Frame | null },
  show: (frame: Frame) => void,
): () => void {
  if (!element) return () => undefined;
  const turn = (event: Event): void => {
    const wheel = event as WheelEvent;
    if (!latest.current) return;
    event.preventDefault();
    const rect = element.getBoundingClientRect();
    const factor = Math.exp(-wheel.deltaY * (wheel.deltaMode === 1 ? 0.05 : 0.0015));
    show(zoomed(latest.current, factor, wheel.clientX - rect.left, wheel.clientY - rect.top));
  };
  element.addEventListener("wheel", turn, { passive: false });
  return () => element.removeEventListener("wheel", turn);
}

/** One finger or the mouse moves the sheet, two bring it nearer. */
function usePointers(latest: { current: Frame | null }, show: (frame: Frame) => void) {
  const down = useRef(new Map<number, readonly [number, number]>());
  const forget = (event: PointerEvent): void => {
    down.current.delete(event.pointerId);
  };
  return {
    onPointerDown: (event: PointerEvent & { currentTarget: Element }): void => {
      if (event.button !== 0) return;
      down.current.set(event.pointerId, [event.clientX, event.clientY]);
      event.currentTarget.setPointerCapture(event.pointerId);
    },
    onPointerMove: (event: PointerEvent & { currentTarget: Element }): void => {
      const before = down.current.get(event.pointerId);
      const frame = latest.current;
      if (!before || !frame) return;
      const now = [event.clientX, event.clientY] as const;
      const others = [...down.current].filter(([id]) => id !== event.pointerId);
      down.current.set(event.pointerId, now);
      const other = others[0]?.[1];
      if (!other) {
        show(moved(frame, now[0] - before[0], now[1] - before[1]));
        return;
      }
      const rect = event.currentTarget.getBoundingClientRect();
      const apart = (point: readonly [number, number]): number =>
        Math.hypot(point[0] - other[0], point[1] - other[1]);
      const middle = [(now[0] + other[0]) / 2 - rect.left, (now[1] + other[1]) / 2 - rect.top] as const;
      const shifted = moved(frame, (now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
      show(zoomed(shifted, apart(now) / Math.max(apart(before), 1), ...middle));
    },
    onPointerUp: forget,
    onPointerCancel: forget,
  };
}

function ScaleBar({ frame, size }: { frame: Frame; size: Size }) {
  const perUnit = unit.value === "inch" ? 25.4 : 1;
  const length = roundLength(frame.scale, perUnit, Math.min(150, size.width * 0.22));
  const wide = length * perUnit * frame.scale;
  const y = size.height - 14;
  return (
    <g class="scale-bar" aria-hidden="true">
      <path d={`M14 ${y - 5}v5h${wide.toFixed(1)}v-5`} />
      <text x={20 + wide} y={y + 1}>
        {Number(length.toPrecision(6))} {unit.value}
      </text>
    </g>
  );
}
