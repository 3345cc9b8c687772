"""The knife of the example ``scanned-knife`` before it was spoilt, and scans made of it."""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np

EXAMPLE = Path(__file__).parents[1] / "examples" / "scanned-knife"

#: What the example's script defines: ``knife``, ``section``, ``reach``, its measures.
SCRIPT = runpy.run_path(str(EXAMPLE / "make_scan.py"))

BLADE, LENGTH, BEVEL = SCRIPT["BLADE"], SCRIPT["LENGTH"], SCRIPT["BEVEL"]


def whole_knife() -> np.ndarray:
    """Return (n, 3, 3) triangles of the closed knife, tip at x = 0, edge down."""
    vertices, faces = SCRIPT["knife"]()
    return vertices[faces]


def any_turn(seed: int) -> np.ndarray:
    """Return a rotation (3, 3), any as likely as any other."""
    turn, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    turn[0] *= np.linalg.det(turn)
    return turn


def stl(triangles: np.ndarray) -> bytes:
    """Return a binary STL file."""
    rows = np.zeros(len(triangles), [("normal", "<f4", 3), ("at", "<f4", (3, 3)), ("spare", "<u2")])
    rows["at"] = triangles
    return bytes(80) + len(triangles).to_bytes(4, "little") + rows.tobytes()
