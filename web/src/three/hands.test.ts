import { beforeEach, describe, expect, it } from "vitest";
import { listenTo, type Turnable } from "./hands";

type Done = readonly [what: string, ...by: number[]];

/** A canvas of 400 dots in height that only hears. */
class Canvas extends EventTarget {
  readonly clientHeight = 400;
  setPointerCapture(): void {}
}

let canvas: Canvas;
let done: Done[];
let stop: () => void;

const stand: Turnable = {
  turnBy: (right, up) => done.push(["turn", right, up]),
  moveBy: (right, up) => done.push(["move", right, up]),
  comeNearer: (share) => done.push(["nearer", share]),
  fitAll: () => done.push(["fit"]),
};

function happen(kind: string, what: object): Event {
  const event = Object.assign(new Event(kind, { cancelable: true }), what);
  canvas.dispatchEvent(event);
  return event;
}

const finger = (kind: string, pointerId: number, clientX: number, clientY: number, more: object = {}): Event =>
  happen(kind, { pointerId, clientX, clientY, buttons: 1, shiftKey: false, ...more });

beforeEach(() => {
  canvas = new Canvas();
  done = [];
  stop = listenTo(canvas as unknown as HTMLCanvasElement, stand);
});

describe("hands on the stand", () => {
  it("turn by dragging, by parts of the picture's height; up is up", () => {
    finger("pointerdown", 1, 100, 100);
    finger("pointermove", 1, 140, 80);
    finger("pointerup", 1, 140, 80);
    finger("pointermove", 1, 300, 300);
    expect(done).toEqual([["turn", 0.1, 0.05]]);
  });

  it("move with Shift or the right button", () => {
    finger("pointerdown", 1, 0, 0);
    finger("pointermove", 1, 40, 0, { shiftKey: true });
    finger("pointermove", 1, 80, 0, { buttons: 2 });
    expect(done).toEqual([["move", 0.1, 0], ["move", 0.1, 0]]);
  });

  it("come nearer as two fingers go apart, and one lifted finger leaves the other turning", () => {
    finger("pointerdown", 1, 100, 100);
    finger("pointerdown", 2, 200, 100);
    finger("pointermove", 2, 300, 100);
    expect(done).toEqual([["move", 0.125, 0], ["nearer", 0.5]]);
    finger("pointercancel", 2, 300, 100);
    finger("pointermove", 1, 140, 100);
    expect(done.at(-1)).toEqual(["turn", 0.1, 0]);
  });

  it("do the same by keys, and leave all other keys to the page", () => {
    const press = (key: string, more: object = {}): boolean =>
      happen("keydown", { key, shiftKey: false, ctrlKey: false, altKey: false, metaKey: false, ...more }).defaultPrevented;
    expect([press("ArrowLeft"), press("ArrowUp", { shiftKey: true }), press("+"), press("0")]).toEqual([true, true, true, true]);
    expect([press("Tab"), press("+", { ctrlKey: true }), press("a")]).toEqual([false, false, false]);
    expect(done.map(([what]) => what)).toEqual(["turn", "move", "nearer", "fit"]);
  });

  it("let go when the page goes", () => {
    stop();
    finger("pointerdown", 1, 0, 0);
    finger("pointermove", 1, 40, 0);
    expect(done).toEqual([]);
  });
});
