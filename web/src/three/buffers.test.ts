import { describe, expect, it } from "vitest";
import { boxOf, MESH_HEAD, readMesh } from "./buffers";

/** One triangle, as the bench writes it; with values at its corners or without. */
function triangle(values: readonly number[] | null): ArrayBuffer {
  const buffer = new ArrayBuffer(MESH_HEAD + 3 * (values ? 20 : 16) + 12);
  const view = new DataView(buffer);
  [..."CHPM"].forEach((letter, i) => view.setUint8(i, letter.charCodeAt(0)));
  view.setUint16(4, 1, true);
  view.setUint16(6, values ? 1 : 0, true);
  view.setUint32(8, 3, true);
  view.setUint32(12, 1, true);
  view.setFloat32(16, -0.5, true);
  view.setFloat32(20, 2.5, true);
  const places = [0, 0, 0, 10, 0, 0, 0, 20, -3];
  places.forEach((place, i) => view.setFloat32(MESH_HEAD + 4 * i, place, true));
  for (let i = 0; i < 3; i += 1) view.setInt8(MESH_HEAD + 36 + 4 * i + 2, 127);
  values?.forEach((value, i) => view.setFloat32(MESH_HEAD + 48 + 4 * i, value, true));
  [0, 1, 2].forEach((corner, i) => view.setUint32(buffer.byteLength - 12 + 4 * i, corner, true));
  return buffer;
}

describe("a shape as the bench sends it", () => {
  it("is laid open without copying", () => {
    const buffer = triangle([1, Number.NaN, 2]);
    const mesh = readMesh(buffer);
    expect([...mesh.positions]).toEqual([0, 0, 0, 10, 0, 0, 0, 20, -3]);
    expect([...mesh.normals.subarray(4, 8)]).toEqual([0, 0, 127, 0]);
    expect([...(mesh.values ?? [])]).toEqual([1, Number.NaN, 2]);
    expect([...mesh.triangles]).toEqual([0, 1, 2]);
    expect(mesh.range).toEqual([-0.5, 2.5]);
    expect(mesh.positions.buffer).toBe(buffer);
  });

  it("may have no values", () => {
    expect(readMesh(triangle(null)).values).toBeNull();
  });

  it("is refused in words when cut short, foreign or of a newer form", () => {
    const whole = triangle(null);
    expect(() => readMesh(whole.slice(0, whole.byteLength - 4))).toThrow("cut short");
    expect(() => readMesh(new ArrayBuffer(3))).toThrow("no shape");
    expect(() => readMesh(new TextEncoder().encode('{"problem": "none such, as it happens"}').buffer)).toThrow("no shape");
    new DataView(whole).setUint16(4, 2, true);
    expect(() => readMesh(whole)).toThrow("form 2");
  });

  it("has a box, or none when it is empty or holds no number", () => {
    expect(boxOf(readMesh(triangle(null)).positions)).toEqual([0, 0, -3, 10, 20, 0]);
    expect(boxOf(new Float32Array())).toBeNull();
    expect(boxOf(new Float32Array([0, 0, Number.POSITIVE_INFINITY]))).toBeNull();
  });
});
