/** An outline spun about the upright axis: a mesh in the form of the bench's buffers. */

import type { Mesh } from "./buffers";
import type { OutlinePoint } from "./cutter_outline";

/** Flat-sided: each stretch of the outline has normals of its own, so that corners stay sharp. */
export function spun(outline: readonly OutlinePoint[], steps = 32): Mesh {
  const stretches = outline.slice(1).map((end, i) => [outline[i] as OutlinePoint, end] as const);
  const positions: number[] = [];
  const normals: number[] = [];
  const triangles: number[] = [];
  for (const [from, to] of stretches) {
    const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (long < 1e-9) continue;
    const [out, up] = [(to[1] - from[1]) / long, (from[0] - to[0]) / long];
    for (let step = 0; step <= steps; step += 1) {
      const angle = (2 * Math.PI * step) / steps;
      const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
      const first = positions.length / 3;
      for (const [radius, height] of [from, to]) {
        positions.push(radius * cos, radius * sin, height);
        normals.push(Math.round(127 * out * cos), Math.round(127 * out * sin), Math.round(127 * up), 0);
      }
      if (step < steps) triangles.push(first, first + 2, first + 3, first, first + 3, first + 1);
    }
  }
  return {
    positions: new Float32Array(positions),
    normals: new Int8Array(normals),
    values: null,
    triangles: new Uint32Array(triangles),
    range: [0, 0],
  };
}
