/** What hands do on the stand: mouse, fingers and keys, turned into turns and moves. */

/** What can be turned. All by shares of the picture's height. */
export interface Turnable {
  turnBy(right: number, up: number): void;
  moveBy(right: number, up: number): void;
  comeNearer(share: number): void;
  fitAll(): void;
}

interface Point {
  x: number;
  y: number;
}

const KEY_TURN = 1 / 36;
const KEY_NEARER = 0.85;

/** Listen to a canvas; the answer stops listening. */
export function listenTo(canvas: HTMLCanvasElement, stand: Turnable): () => void {
  const fingers = new Map<number, Point>();
  const stop = new AbortController();
  const listen = <K extends keyof HTMLElementEventMap>(kind: K, heard: (event: HTMLElementEventMap[K]) => void): void =>
    canvas.addEventListener(kind, heard, { signal: stop.signal, passive: false });

  listen("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
  });
  listen("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (before === undefined) return;
    const now = { x: event.clientX, y: event.clientY };
    const height = Math.max(1, canvas.clientHeight);
    const [right, up] = [(now.x - before.x) / height, (before.y - now.y) / height];
    const other = [...fingers].find(([finger]) => finger !== event.pointerId)?.[1];
    if (other !== undefined) {
      stand.moveBy(right / 2, up / 2);
      stand.comeNearer(apart(before, other) / Math.max(1, apart(now, other)));
    } else if (event.shiftKey || (event.buttons & 6) !== 0) {
      stand.moveBy(right, up);
    } else {
      stand.turnBy(right, up);
    }
    fingers.set(event.pointerId, now);
  });
  const lifted = (event: PointerEvent): void => void fingers.delete(event.pointerId);
  listen("pointerup", lifted);
  listen("pointercancel", lifted);
  listen("lostpointercapture", lifted);
  listen("contextmenu", (event) => event.preventDefault());
  listen("wheel", (event) => {
    event.preventDefault();
    // A wheel counts lines in some browsers, dots in others.
    const dots = event.deltaY * (event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : 1);
    stand.comeNearer(Math.exp(Math.max(-200, Math.min(200, dots)) / 500));
  });
  listen("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const done = doKey(event.key, event.shiftKey, stand);
    if (done) event.preventDefault();
  });
  return () => stop.abort();
}

function doKey(key: string, shift: boolean, stand: Turnable): boolean {
  const arrows: Record<string, readonly [number, number]> = {
    ArrowLeft: [-1, 0],
    ArrowRight: [1, 0],
    ArrowUp: [0, 1],
    ArrowDown: [0, -1],
  };
  const arrow = arrows[key];
  if (arrow !== undefined) {
    if (shift) stand.moveBy(arrow[0] * KEY_TURN, arrow[1] * KEY_TURN);
    else stand.turnBy(arrow[0] * KEY_TURN, arrow[1] * KEY_TURN);
  } else if (key === "+" || key === "=") stand.comeNearer(KEY_NEARER);
  else if (key === "-") stand.comeNearer(1 / KEY_NEARER);
  else if (key === "0" || key === "Home") stand.fitAll();
  else return false;
  return true;
}

function apart(a: Point, b: Point): number {
  return Math.hypot(a.x - b.x, a.y - b.y);
}
