/** The stand with its worded sides and the help for hands. */

import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import "./three.css";
import type { HeldStand } from "./use_stand";
import type { View } from "./views";

export interface StandViewProps {
  readonly held: HeldStand;
  readonly views: readonly View[];
  /** What is seen, for those who don't see it. */
  readonly label: string;
  /** A word on what is being fetched, or what is wrong; null: nothing. */
  readonly note?: string | null;
  /** What stands right under the picture. */
  readonly under?: ComponentChildren;
  readonly children?: ComponentChildren;
}

export function StandView({ held, views, label, note = null, under = null, children }: StandViewProps) {
  const { stand } = held;
  const first = views[0];
  useEffect(() => {
    if (stand === null || first === undefined) return;
    stand.lookFrom(first);
    stand.onDrawn = (milliseconds) => tellDrawn(stand.canvas, milliseconds);
  }, [stand, first]);
  const said = held.problem ?? note;
  return (
    <figure class="stand">
      <div class="stand-picture">
        <canvas
          ref={held.canvas}
          tabIndex={0}
          role="img"
          aria-label={`${label}. Arrow keys turn it, with Shift they move it, plus and minus come nearer, 0 shows the whole.`}
        />
        {said === null ? null : (
          <p class="stand-note" role="status">
            {said}
          </p>
        )}
      </div>
      {under}
      <div class="stand-sides" role="group" aria-label="Look from">
        {views.map((view) => (
          <button key={view.words} type="button" disabled={stand === null} onClick={() => stand?.lookFrom(view)}>
            {view.words}
          </button>
        ))}
      </div>
      {children}
    </figure>
  );
}

/** Kept on the canvas, for tests and for whoever wonders why it is slow. */
function tellDrawn(canvas: HTMLCanvasElement, milliseconds: number): void {
  canvas.dataset["pictures"] = String(Number(canvas.dataset["pictures"] ?? 0) + 1);
  canvas.dataset["lastMs"] = milliseconds.toFixed(1);
}
