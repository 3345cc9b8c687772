/**
 * Meshes as the bench sends them: one little-endian buffer, over which typed arrays are laid.
 *
 *     0   "CHPM"
 *     4   uint16 version, 1
 *     6   uint16 flags: 1 there is a value at every vertex
 *     8   uint32 vertices V
 *     12  uint32 triangles T
 *     16  float32 least value, greatest value
 *     24  8 bytes 0
 *     32  float32[V][3] positions, mm
 *         int8[V][4] normals, 127ths; the fourth is 0
 *         float32[V] values, mm, where there are any; NaN: none at this vertex
 *         uint32[T][3] vertices of each triangle
 */

export interface Mesh {
  readonly positions: Float32Array<ArrayBuffer>;
  readonly normals: Int8Array<ArrayBuffer>;
  readonly values: Float32Array<ArrayBuffer> | null;
  readonly triangles: Uint32Array<ArrayBuffer>;
  /** Least and greatest value, mm. */
  readonly range: readonly [number, number];
}

/** Said when what came over the line isn't what was asked for. */
export class BufferProblem extends Error {}

export const MESH_HEAD = 32;
const VALUES = 1;

export function readMesh(buffer: ArrayBuffer): Mesh {
  const view = headOf(buffer, "CHPM", MESH_HEAD, "shape");
  const hasValues = (view.getUint16(6, true) & VALUES) !== 0;
  const vertices = view.getUint32(8, true);
  const triangles = view.getUint32(12, true);
  const whole = MESH_HEAD + vertices * (hasValues ? 20 : 16) + triangles * 12;
  if (buffer.byteLength !== whole) throw new BufferProblem("The shape is cut short. Ask for it again.");
  let at = MESH_HEAD;
  const positions = new Float32Array(buffer, at, vertices * 3);
  at += positions.byteLength;
  const normals = new Int8Array(buffer, at, vertices * 4);
  at += normals.byteLength;
  const values = hasValues ? new Float32Array(buffer, at, vertices) : null;
  at += values?.byteLength ?? 0;
  const corners = new Uint32Array(buffer, at, triangles * 3);
  return {
    positions,
    normals,
    values,
    triangles: corners,
    range: [view.getFloat32(16, true), view.getFloat32(20, true)],
  };
}

/** Check the first bytes of a buffer, and give a view of it. */
export function headOf(buffer: ArrayBuffer, magic: string, size: number, what: string): DataView {
  const start = new Uint8Array(buffer, 0, Math.min(4, buffer.byteLength));
  if (buffer.byteLength < size || String.fromCharCode(...start) !== magic) {
    throw new BufferProblem(`This is no ${what} as the bench sends them. Load the page again.`);
  }
  const view = new DataView(buffer);
  const version = view.getUint16(4, true);
  if (version !== 1) {
    throw new BufferProblem(`The ${what} has the form ${version}, and form 1 is read here. Load the page again.`);
  }
  return view;
}

/** A box around points, mm: least corner, then greatest. */
export type Box = readonly [number, number, number, number, number, number];

export function boxOf(positions: Float32Array): Box | null {
  if (positions.length < 3) return null;
  const least = [Infinity, Infinity, Infinity];
  const greatest = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < positions.length; i += 1) {
    const axis = i % 3;
    const value = positions[i] as number;
    if (value < (least[axis] as number)) least[axis] = value;
    if (value > (greatest[axis] as number)) greatest[axis] = value;
  }
  const box = [...least, ...greatest];
  return box.every(Number.isFinite) ? (box as unknown as Box) : null;
}
