/** A shape to look at: lit like clay, coloured by its values if it has any, cut open by a plane. */

import * as THREE from "three";
import { boxOf, type Box, type Mesh } from "./buffers";
import { parseColour, rampBytes } from "./colours";

/** Stands in a buffer for "no value here": a graphics card may take NaN for any figure. */
const NO_VALUE = -1e30;

const VERTEX = /* glsl */ `
  in float value;
  out vec3 seenNormal;
  out vec3 place;
  out vec3 seen;
  out vec2 valued;
  void main() {
    seenNormal = normalize(normalMatrix * normal);
    place = (modelMatrix * vec4(position, 1.0)).xyz;
    seen = (modelViewMatrix * vec4(position, 1.0)).xyz;
    valued = value > -1e29 ? vec2(value, 1.0) : vec2(0.0);
    gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
  }`;

const FRAGMENT = /* glsl */ `
  uniform vec3 clay;
  uniform vec3 inside;
  uniform float solidity;
  uniform bool shaded;
  uniform vec2 span;
  uniform sampler2D ramp;
  uniform bool cut;
  uniform vec4 plane;
  in vec3 seenNormal;
  in vec3 place;
  in vec3 seen;
  in vec2 valued;
  out vec4 colour;
  void main() {
    if (cut && dot(plane.xyz, place) > plane.w) discard;
    if (cut && !gl_FrontFacing) {
      // What one sees of the inside is what the plane has cut: hatched, as on a drawing.
      float stripe = smoothstep(0.30, 0.42, abs(fract((gl_FragCoord.x + gl_FragCoord.y) / 9.0) - 0.5));
      colour = vec4(mix(inside, inside * 0.82, stripe), 1.0);
      return;
    }
    // At a sharp edge the mean of two faces is the normal of neither: there the face's own counts.
    vec3 flat_ = normalize(cross(dFdx(seen), dFdy(seen)));
    vec3 smooth_ = normalize(gl_FrontFacing ? seenNormal : -seenNormal);
    vec3 normal = normalize(mix(flat_, smooth_, smoothstep(0.88, 0.97, dot(flat_, smooth_))));
    float key = max(0.0, dot(normal, normalize(vec3(-0.45, 0.62, 0.64))));
    float sky = 0.5 + 0.5 * normal.y;
    float glance = pow(max(0.0, dot(normal, normalize(vec3(-0.25, 0.35, 0.9)))), 24.0);
    bool figured = shaded && valued.y > 0.999;
    // A figure's colour must stay itself, so that light touches it less.
    float light = figured ? 0.72 + 0.2 * key + 0.1 * sky : 0.36 + 0.5 * key + 0.2 * sky;
    vec3 base = clay;
    if (figured) base = texture(ramp, vec2((valued.x - span.x) / (span.y == span.x ? 1.0 : span.y - span.x), 0.5)).rgb;
    colour = vec4(base * light + (figured ? 0.02 : 0.07) * glance, solidity);
  }`;

export interface Plane {
  readonly normal: readonly [number, number, number];
  /** What lies farther along the normal than this, mm, is taken away. */
  readonly reach: number;
}

export class Surface {
  readonly object: THREE.Mesh;
  readonly box: Box | null;
  /** Least and greatest value, mm; null where there are none. */
  readonly range: readonly [number, number] | null;
  private readonly material: THREE.ShaderMaterial;
  private readonly ramp: THREE.DataTexture;

  constructor(mesh: Mesh) {
    const geometry = new THREE.BufferGeometry();
    geometry.setAttribute("position", new THREE.BufferAttribute(mesh.positions, 3));
    geometry.setAttribute("normal", new THREE.BufferAttribute(mesh.normals, 4, true));
    const values = new Float32Array(mesh.positions.length / 3).fill(NO_VALUE);
    mesh.values?.forEach((value, i) => {
      if (Number.isFinite(value)) values[i] = value;
    });
    geometry.setAttribute("value", new THREE.BufferAttribute(values, 1));
    geometry.setIndex(new THREE.BufferAttribute(mesh.triangles, 1));
    this.box = boxOf(mesh.positions);
    const [least, greatest] = mesh.range;
    this.range = mesh.values !== null && greatest >= least ? [least, greatest] : null;
    this.ramp = new THREE.DataTexture(rampBytes(), 256, 1);
    this.ramp.minFilter = this.ramp.magFilter = THREE.LinearFilter;
    this.ramp.needsUpdate = true;
    this.material = new THREE.ShaderMaterial({
      glslVersion: THREE.GLSL3,
      vertexShader: VERTEX,
      fragmentShader: FRAGMENT,
      side: THREE.DoubleSide,
      // Lines that run on a surface are drawn before it.
      polygonOffset: true,
      polygonOffsetFactor: 1,
      polygonOffsetUnits: 2,
      uniforms: {
        clay: { value: new THREE.Vector3(0.6, 0.6, 0.6) },
        inside: { value: new THREE.Vector3(0.7, 0.5, 0.2) },
        solidity: { value: 1 },
        shaded: { value: this.range !== null },
        span: { value: new THREE.Vector2(...(this.range ?? [0, 1])) },
        ramp: { value: this.ramp },
        cut: { value: false },
        plane: { value: new THREE.Vector4() },
      },
    });
    this.object = new THREE.Mesh(geometry, this.material);
    this.object.frustumCulled = false;
  }

  /** Colours as a style sheet writes them. */
  paint(clay: string, inside: string): void {
    this.uniform("clay").value.set(...parseColour(clay));
    this.uniform("inside").value.set(...parseColour(inside));
  }

  /** How solid it looks, 0 to 1; below 1 one sees through it. */
  fade(solidity: number): void {
    this.uniform("solidity").value = solidity;
    this.material.transparent = solidity < 1;
    this.material.depthWrite = solidity >= 1;
    this.object.renderOrder = solidity < 1 ? 1 : 0;
  }

  /** Colour from the figure that is darkest to the one that is lightest, mm; null: by nothing. */
  shade(span: readonly [number, number] | null): void {
    this.uniform("shaded").value = span !== null && this.range !== null;
    if (span !== null) this.uniform("span").value.set(...span);
  }

  cut(plane: Plane | null): void {
    this.uniform("cut").value = plane !== null;
    if (plane !== null) this.uniform("plane").value.set(...plane.normal, plane.reach);
  }

  dispose(): void {
    this.object.geometry.dispose();
    this.material.dispose();
    this.ramp.dispose();
  }

  private uniform(name: string): THREE.IUniform {
    return this.material.uniforms[name] as THREE.IUniform;
  }
}
