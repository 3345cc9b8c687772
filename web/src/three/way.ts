/** The way of a cutter as lines: what is cut so far strong, what is to come faint, rapids dashed. */

import * as THREE from "three";
import type { Box } from "./buffers";
import { mixed, parseColour } from "./colours";
import { deepestCut, linePairs, momentAt, type Moment, type Preview } from "./preview";
import type { Shown } from "./stand";

/** A piece is drawn by what belongs to its end: in WebGL 2 that is the corner a flat figure is taken from. */
const VERTEX = /* glsl */ `
  in float depth;
  in float width;
  in float flag;
  flat out vec3 goal;
  flat out float figure;
  flat out float kind;
  out vec3 place;
  uniform bool byWidth;
  uniform float deepest;
  void main() {
    place = goal = position;
    bool rapid = mod(flag, 2.0) > 0.5;
    float cut = byWidth ? width : depth / max(1.0, deepest);
    kind = rapid ? 2.0 : (depth > 0.0 ? 0.0 : 1.0);
    figure = clamp(cut, 0.0, 1.0);
    gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
  }`;

const FRAGMENT = /* glsl */ `
  uniform sampler2D ramp;
  uniform vec3 idle;
  uniform float strength;
  uniform float dash;
  uniform bool rapids;
  flat in vec3 goal;
  flat in float figure;
  flat in float kind;
  in vec3 place;
  out vec4 colour;
  void main() {
    if (kind > 1.5) {
      if (!rapids || fract(distance(place, goal) / dash) > 0.45) discard;
      colour = vec4(idle, 0.8 * strength);
    } else if (kind > 0.5) {
      colour = vec4(idle, 0.55 * strength);
    } else {
      colour = vec4(texture(ramp, vec2(figure, 0.5)).rgb, strength);
    }
  }`;

const FAINT = 0.16;

export interface WayPaint {
  readonly shallow: string;
  readonly deep: string;
  readonly idle: string;
}

export class Way implements Shown {
  readonly object = new THREE.Group();
  readonly box: Box;
  /** Depth of cut of the strongest colour, mm. */
  readonly deepest: number;
  private readonly before: Uint32Array;
  private readonly done: THREE.LineSegments<THREE.BufferGeometry, THREE.ShaderMaterial>;
  private readonly coming: THREE.LineSegments<THREE.BufferGeometry, THREE.ShaderMaterial>;
  private readonly current: THREE.LineSegments<THREE.BufferGeometry, THREE.ShaderMaterial>;
  private readonly ramp = new THREE.DataTexture(new Uint8Array(4 * 256), 256, 1);

  constructor(private readonly preview: Preview) {
    this.box = preview.box;
    this.deepest = deepestCut(preview);
    const { pairs, before } = linePairs(preview);
    this.before = before;
    const index = new THREE.BufferAttribute(pairs, 1);
    const attributes = {
      position: new THREE.BufferAttribute(preview.ends, 3),
      depth: new THREE.BufferAttribute(preview.depths, 1),
      width: new THREE.BufferAttribute(preview.widths, 1, true),
      flag: new THREE.BufferAttribute(preview.flags, 1),
    };
    const lines = (strength: number, of: Record<string, THREE.BufferAttribute>, by: THREE.BufferAttribute) => {
      const geometry = new THREE.BufferGeometry();
      for (const [name, attribute] of Object.entries(of)) geometry.setAttribute(name, attribute);
      geometry.setIndex(by);
      const made = new THREE.LineSegments(geometry, this.material(strength));
      made.frustumCulled = false;
      made.renderOrder = 2;
      this.object.add(made);
      return made;
    };
    this.coming = lines(FAINT, attributes, index);
    this.done = lines(1, attributes, index);
    const single = { position: [6, 3], depth: [2, 1], width: [2, 1], flag: [2, 1] } as const;
    const one = Object.entries(single).map(([name, [count, size]]) => [name, new THREE.BufferAttribute(new Float32Array(count), size)]);
    this.current = lines(1, Object.fromEntries(one), new THREE.BufferAttribute(new Uint32Array([0, 1]), 1));
    this.ramp.minFilter = this.ramp.magFilter = THREE.LinearFilter;
    this.goTo(preview.totalSeconds);
  }

  /** Show the program as it stands after some seconds. */
  goTo(seconds: number): Moment {
    const moment = momentAt(this.preview, seconds);
    const whole = this.before[Math.max(0, moment.piece)] ?? 0;
    const all = this.before[this.preview.pieces] ?? 0;
    const isLine = (this.before[moment.piece + 1] ?? whole) > whole;
    const next = whole + (isLine ? 1 : 0);
    this.done.geometry.setDrawRange(0, 2 * whole);
    this.coming.geometry.setDrawRange(2 * next, 2 * (all - next));
    this.current.visible = isLine;
    if (isLine) this.showCurrent(moment);
    return moment;
  }

  colourBy(what: "depth" | "width"): void {
    this.each("byWidth", what === "width");
  }

  /** Whether what is still to be cut is shown, and rapids. */
  show(coming: boolean, rapids: boolean): void {
    this.coming.visible = coming;
    this.each("rapids", rapids);
  }

  /** How long a dash of a rapid is, mm. */
  dashes(long: number): void {
    this.each("dash", long);
  }

  paint({ shallow, deep, idle }: WayPaint): void {
    const bytes = this.ramp.image.data as Uint8Array;
    for (let step = 0; step < 256; step += 1) {
      mixed(shallow, deep, step / 255).forEach((band, i) => {
        bytes[4 * step + i] = Math.round(255 * band);
      });
      bytes[4 * step + 3] = 255;
    }
    this.ramp.needsUpdate = true;
    this.each("idle", new THREE.Vector3(...parseColour(idle)));
  }

  dispose(): void {
    for (const lines of [this.done, this.coming, this.current]) {
      lines.geometry.dispose();
      lines.material.dispose();
    }
    this.ramp.dispose();
  }

  private showCurrent({ piece, place }: Moment): void {
    const { attributes } = this.current.geometry;
    const { ends, depths, widths, flags } = this.preview;
    const fill = (name: string, values: ArrayLike<number>): void => {
      const attribute = attributes[name] as THREE.BufferAttribute;
      attribute.array.set(values);
      attribute.needsUpdate = true;
    };
    fill("position", [...ends.subarray(3 * piece - 3, 3 * piece), ...place]);
    fill("depth", [0, depths[piece] ?? 0]);
    fill("width", [0, (widths[piece] ?? 0) / 255]);
    fill("flag", [0, flags[piece] ?? 0]);
  }

  private each(uniform: string, value: unknown): void {
    for (const lines of [this.done, this.coming, this.current]) {
      (lines.material.uniforms[uniform] as THREE.IUniform).value = value;
    }
  }

  private material(strength: number): THREE.ShaderMaterial {
    return new THREE.ShaderMaterial({
      glslVersion: THREE.GLSL3,
      vertexShader: VERTEX,
      fragmentShader: FRAGMENT,
      transparent: true,
      depthWrite: false,
      uniforms: {
        ramp: { value: this.ramp },
        idle: { value: new THREE.Vector3() },
        strength: { value: strength },
        deepest: { value: Math.max(1, 100 * this.deepest) },
        byWidth: { value: false },
        rapids: { value: true },
        dash: { value: 4 },
      },
    });
  }
}
