/**
 * The stand that things are looked at on: one canvas, drawn only when something has changed.
 *
 * Turn by dragging, with two fingers move and come nearer, with the wheel come nearer, with the
 * right button or Shift move; by keys: arrows, Shift and arrows, + and -, 0 for the whole.
 */

import * as THREE from "three";
import type { Box } from "./buffers";
import { around, axesOf, fitted, type Look, moved, nearer, sizeOf, turned } from "./turning";
import type { View } from "./views";
import { listenTo } from "./hands";
import { drawsBySoftware } from "./software";

/** The angle of view from bottom to top: narrow, so that lengths far and near look alike. */
const ANGLE = (24 * Math.PI) / 180;
const SHARPEST = 2;

/** Without a card smooth edges take longer than all else: they are drawn once nothing moves for so
 * long, ms, by a picture that is finer than the screen. */
const REST = 350;

/** Something on the stand. */
export interface Shown {
  readonly object: THREE.Object3D;
  /** What it fills, mm; null: it does not count when the whole is fitted in. */
  readonly box: Box | null;
  dispose(): void;
}

export class Stand {
  /** Called after each picture with the milliseconds it took to give it to the graphics card. */
  onDrawn: ((milliseconds: number) => void) | null = null;
  private readonly renderer: THREE.WebGLRenderer;
  private readonly scene = new THREE.Scene();
  private readonly camera = new THREE.PerspectiveCamera((ANGLE * 180) / Math.PI, 1, 1, 1000);
  private readonly shown = new Map<string, Shown>();
  private readonly cleanups: (() => void)[] = [];
  private look: Look = { azimuth: -1, elevation: 0.6, distance: 400, target: [0, 0, 0] };
  private fittedTo: Box | null = null;
  private over = false;
  private readonly slow = drawsBySoftware();
  private fine = false;
  private resting: ReturnType<typeof setTimeout> | undefined;
  private wanted = 0;

  /** Raises an error where the browser can't draw in three dimensions. */
  constructor(readonly canvas: HTMLCanvasElement) {
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: !this.slow, alpha: true });
    this.renderer.outputColorSpace = THREE.LinearSRGBColorSpace;
    this.renderer.setClearAlpha(0);
    const resized = new ResizeObserver(() => this.resize());
    resized.observe(canvas);
    // A phone takes the card away from pages it puts aside, and gives it back.
    const back = (): void => this.draw();
    canvas.addEventListener("webglcontextrestored", back);
    this.cleanups.push(
      () => resized.disconnect(),
      () => canvas.removeEventListener("webglcontextrestored", back),
      listenTo(canvas, this),
    );
    this.resize();
  }

  /** Put a thing on the stand under a name, in the place of what had that name; null takes it off. */
  put(name: string, thing: Shown | null): void {
    const before = this.shown.get(name);
    if (before !== undefined) {
      this.scene.remove(before.object);
      this.shown.delete(name);
      before.dispose();
    }
    if (thing !== null) {
      this.shown.set(name, thing);
      this.scene.add(thing.object);
      // The same thing in other colours must not turn one's head.
      if (!alike(this.fittedTo, this.box())) this.fitAll();
    }
    this.draw();
  }

  /** Look at the whole from a side. */
  lookFrom({ azimuth, elevation }: View): void {
    this.change({ ...this.look, azimuth, elevation });
    this.fitAll();
  }

  fitAll(): void {
    const box = this.box();
    if (box === null) return;
    this.fittedTo = box;
    this.change(fitted(box, this.look.azimuth, this.look.elevation, ANGLE, this.camera.aspect));
  }

  /** By parts of the picture's height. */
  turnBy(right: number, up: number): void {
    this.change(turned(this.look, -right * Math.PI, -up * Math.PI));
  }

  moveBy(right: number, up: number): void {
    this.change(moved(this.look, -right, -up, ANGLE));
  }

  comeNearer(share: number): void {
    this.change(nearer(this.look, share, this.size()));
  }

  /** How long a millimetre is on the picture where one looks, in the screen's own dots. */
  dotsPerMm(): number {
    return this.renderer.domElement.height / (2 * this.look.distance * Math.tan(ANGLE / 2));
  }

  /** Draw before the screen is painted next; many calls make one picture. */
  draw(): void {
    clearTimeout(this.resting);
    this.fine = false;
    this.ask();
  }

  private ask(): void {
    if (this.wanted === 0 && !this.over) this.wanted = requestAnimationFrame(() => this.drawNow());
  }

  /** Wait until the card has really drawn; for measuring. */
  finish(): void {
    const gl = this.renderer.getContext();
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
  }

  dispose(): void {
    this.over = true;
    clearTimeout(this.resting);
    for (const name of [...this.shown.keys()]) this.put(name, null);
    if (this.wanted !== 0) cancelAnimationFrame(this.wanted);
    for (const cleanup of this.cleanups) cleanup();
    this.renderer.dispose();
    // A browser allows only a few of these at a time: give it back at once.
    this.renderer.forceContextLoss();
  }

  private change(look: Look): void {
    this.look = look;
    this.draw();
  }

  private box(): Box | null {
    return around([...this.shown.values()].flatMap((thing) => (thing.box === null ? [] : [thing.box])));
  }

  private size(): number {
    const box = this.box();
    return box === null ? 100 : sizeOf(box);
  }

  private resize(): void {
    const { clientWidth, clientHeight } = this.canvas;
    if (clientWidth === 0 || clientHeight === 0) return;
    const aspect = clientWidth / clientHeight;
    this.renderer.setPixelRatio(this.ratio());
    this.renderer.setSize(clientWidth, clientHeight, false);
    if (Math.abs(aspect - this.camera.aspect) > 0.01) {
      this.camera.aspect = aspect;
      this.fitAll();
    }
    this.draw();
  }

  /** Dots of a picture for each of the page's. */
  private ratio(): number {
    const own = Math.min(SHARPEST, window.devicePixelRatio);
    if (!this.slow) return own;
    return this.fine ? SHARPEST : 1;
  }

  /** Where there is no card, draw once more, finer, when nothing has moved for a while. */
  private refineLater(): void {
    if (!this.slow || this.fine || this.shown.size === 0) return;
    this.resting = setTimeout(() => {
      this.fine = true;
      this.ask();
    }, REST);
  }

  private drawNow(): void {
    this.wanted = 0;
    const start = performance.now();
    if (this.renderer.getPixelRatio() !== this.ratio()) this.renderer.setPixelRatio(this.ratio());
    this.aim();
    this.renderer.render(this.scene, this.camera);
    this.onDrawn?.(performance.now() - start);
    this.refineLater();
  }

  private aim(): void {
    const { target, distance } = this.look;
    const { right, up, back } = axesOf(this.look);
    const turn = new THREE.Matrix4().makeBasis(new THREE.Vector3(...right), new THREE.Vector3(...up), new THREE.Vector3(...back));
    this.camera.quaternion.setFromRotationMatrix(turn);
    this.camera.position.set(...target).addScaledVector(new THREE.Vector3(...back), distance);
    const reach = 2 * this.size();
    this.camera.near = Math.max(distance - reach, distance / 100);
    this.camera.far = distance + reach;
    this.camera.updateProjectionMatrix();
  }
}

/** Whether two boxes are so much alike that one may keep looking as one does. */
function alike(before: Box | null, now: Box | null): boolean {
  if (before === null || now === null) return before === now;
  const near = 0.1 * sizeOf(now);
  return before.every((side, i) => Math.abs(side - (now[i] as number)) < near);
}
