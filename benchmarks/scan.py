"""How long a scan of half a million triangles takes to read, and how true it comes out.

The example's knife, its triangles cut smaller until there are more than 500,000, turned anyhow,
is written as binary STL, and measured from the file on a grid of 0.2 mm. Prints seconds of CPU,
one thread, compiling not counted; and what is off, with noise of 0 to 0.2 mm.

    python benchmarks/scan.py
"""

from __future__ import annotations

import os
import runpy
import tempfile
from pathlib import Path
from time import process_time

os.environ.update(dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1"))

import numpy as np

from chape.knife.file_mesh import MeshTable
from chape.knife.from_mesh import MeasuredMesh, measure_mesh
from chape.knife.model import Edges

EXAMPLE = Path(__file__).parents[1] / "examples" / "scanned-knife" / "make_scan.py"

SPACING = 0.2


def main() -> None:
    """Print the tables."""
    script = runpy.run_path(str(EXAMPLE))
    vertices, faces = script["knife"]()
    triangles = vertices[faces]
    while len(triangles) < 500_000:
        triangles = quartered(triangles)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print("noise, mm  triangles  CPU s   length   blade  thickness   bevel  outline corners")
        for noise in (0.0, 0.0, 0.02, 0.05, 0.1, 0.2):
            write(folder / "scan.stl", posed(spoilt(triangles, noise)))
            start = process_time()
            knife = measure_mesh(MeshTable(file="scan.stl"), Edges.SINGLE, SPACING, folder)
            show(noise, len(triangles), process_time() - start, knife)


def show(noise: float, count: int, seconds: float, knife: MeasuredMesh) -> None:
    """Print one row. The truth: 200, 92, 18.45 and 0.9 mm."""
    print(
        f"{noise:9.2f}  {count:9d}  {seconds:5.2f}  {knife.outline.bounds[2]:7.2f}  "
        f"{knife.blade_length:6.2f}  {2 * knife.half.z.max():9.2f}  {knife.bevel_width:6.2f}  "
        f"{len(knife.outline.exterior.coords):8d}"
    )


def quartered(triangles: np.ndarray) -> np.ndarray:
    """Return each triangle as four."""
    a, b, c = np.moveaxis(triangles, 1, 0)
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.concatenate([np.stack(part, axis=1) for part in parts])


def spoilt(triangles: np.ndarray, noise: float) -> np.ndarray:
    """Return the triangles with each corner moved, the same wherever they share it."""
    flat = np.round(triangles.reshape(-1, 3), 9)
    _, which = np.unique(flat, axis=0, return_inverse=True)
    moves = np.random.default_rng(1).normal(0, 1, (which.max() + 1, 3)) * noise
    return (flat + moves[which.ravel()]).reshape(-1, 3, 3)


def posed(triangles: np.ndarray) -> np.ndarray:
    """Return the triangles turned anyhow."""
    turn, _ = np.linalg.qr(np.random.default_rng(2).normal(size=(3, 3)))
    turn[0] *= np.linalg.det(turn)
    return triangles @ turn.T


def write(path: Path, triangles: np.ndarray) -> None:
    """Write a binary STL file."""
    rows = np.zeros(len(triangles), [("normal", "<f4", 3), ("at", "<f4", (3, 3)), ("spare", "<u2")])
    rows["at"] = triangles
    path.write_bytes(bytes(80) + len(triangles).to_bytes(4, "little") + rows.tobytes())


if __name__ == "__main__":
    main()
