"""How long a glance at a dragged sheath takes, and how far its figures are from the fine design's.

Run it with nothing else running: ``python benchmarks/glance.py``. A glance shall take no more than
150 ms of one processor, the buffer of 200 000 triangles no more than 300 ms.
"""

from __future__ import annotations

import os

# One thread, as in the process that the bench keeps warm.
os.environ["NUMBA_NUM_THREADS"] = "1"

import time
import tomllib
from importlib import resources
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from chape.bench.buffers import mesh_bytes
from chape.bench.preview import Look, preview
from chape.bench.solids import closed_sheath, knife_body
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.surface import solid_below
from chape.pipeline.glance import SPACING, Figures, Glancer

if TYPE_CHECKING:
    from pathlib import Path

SHEATHS = ("camp", "slender", "camp-paired", "slender-paired")
DRAGS = 25

#: The grid the figures are held against, mm.
FINE = 0.2

COMPARED = ("least_clearance", "edge_clearance", "length", "mass", "blank_use")


def dragged(path: Path) -> list[float]:
    """Return milliseconds of each preview while the room beside the edge is dragged."""
    tables = tomllib.loads(path.read_text("utf-8"))
    preview(Look(path, station=60.0))
    taken = []
    for step in range(DRAGS):
        tables["sheath"].setdefault("clearance", {})["side"] = 1.2 + 0.01 * (step + 1)
        begun = time.process_time()
        preview(Look(path, step, tables, 60.0, dragging=True))
        taken.append(1e3 * (time.process_time() - begun))
    return taken


def words(coarse: Figures, fine: Figures) -> str:
    """Return both designs' figures side by side."""
    return ", ".join(
        f"{name} {getattr(coarse, name):.3f} ({getattr(fine, name):.3f})" for name in COMPARED
    )


def buffers() -> None:
    """Print what shapes and their buffers take."""
    grid = Grid(0.0, 0.0, 0.94, 320, 320)
    hill = HeightField.of(grid, lambda x, y: 9 + 4 * np.sin(x / 9) * np.cos(y / 7))
    with resources.as_file(resources.files("chape.demo") / "camp-sheath.toml") as path:
        sheath = Glancer(FINE).look(path).sheath
    for name, make in (
        ("a block", lambda: solid_below(hill, -10.0)),
        ("the knife", lambda: knife_body(sheath.knife)),
        ("the closed sheath", lambda: closed_sheath(sheath, None, "clearance").solid),
    ):
        solid = make()
        begun = time.process_time()
        make()
        built = time.process_time()
        mesh_bytes(solid)
        packed = time.process_time()
        print(
            f"{name}: {len(solid.triangles)} triangles built in {1e3 * (built - begun):.0f} ms, "
            f"packed in {1e3 * (packed - built):.0f} ms"
        )


def main() -> None:
    """Print times and figures."""
    for name in SHEATHS:
        with resources.as_file(resources.files("chape.demo") / f"{name}-sheath.toml") as path:
            taken = sorted(dragged(path))
            coarse, fine = (Glancer(spacing).look(path).figures for spacing in (SPACING, FINE))
        print(f"{name}: median {median(taken):.0f} ms, one in ten over {taken[-3]:.0f} ms")
        print(f"  {words(coarse, fine)}")
    buffers()


if __name__ == "__main__":
    main()
