import { expect, it } from "vitest";
import { spun } from "./spun";

/** Volume and area of a mesh, by its triangles. */
function measured(mesh: ReturnType<typeof spun>): { volume: number; area: number; outward: boolean } {
  const point = (i: number) => [0, 1, 2].map((axis) => mesh.positions[3 * i + axis] as number) as [number, number, number];
  let [volume, area, outward] = [0, 0, true];
  for (let t = 0; t < mesh.triangles.length; t += 3) {
    const [a, b, c] = [0, 1, 2].map((i) => point(mesh.triangles[t + i] as number)) as unknown as [number[], number[], number[]];
    const [u, v] = [b.map((value, i) => value - (a[i] ?? 0)), c.map((value, i) => value - (a[i] ?? 0))] as [number[], number[]];
    const cross = [0, 1, 2].map((i) => (u[(i + 1) % 3] ?? 0) * (v[(i + 2) % 3] ?? 0) - (u[(i + 2) % 3] ?? 0) * (v[(i + 1) % 3] ?? 0));
    volume += cross.reduce((sum, value, i) => sum + value * (a[i] ?? 0), 0) / 6;
    area += Math.hypot(...cross) / 2;
    const normal = [0, 1, 2].map((i) => mesh.normals[4 * (mesh.triangles[t] as number) + i] as number);
    if (Math.hypot(...cross) > 1e-9 && normal.reduce((sum, value, i) => sum + value * (cross[i] ?? 0), 0) <= 0) outward = false;
  }
  return { volume, area, outward };
}

it("a spun outline is closed, faces outward and has a cylinder's volume and area", () => {
  const { volume, area, outward } = measured(spun([[0, 0], [3, 0], [3, 20], [0, 20]], 64));
  expect(outward).toBe(true);
  // 64 flats hold sin(a)/a of the circle's area, a = 2 pi / 64.
  const share = Math.sin(Math.PI / 32) / (Math.PI / 32);
  expect(volume).toBeCloseTo(Math.PI * 9 * 20 * share, 3);
  expect(area).toBeCloseTo(2 * Math.PI * 9 * share + 64 * 2 * 3 * Math.sin(Math.PI / 64) * 20, 3);
});
