"""Writes heron.ply: what a scanner might make of an invented skinning knife.

The knife is lofted from sections whose measures are written below, so that what chape reads from
the scan can be held against them. Then it is spoilt as scans are: noise, a hole in the handle,
specks, a sheet of the table, and a pose of the scanner's own. The same seed gives the same bytes.

    python examples/scanned-knife/make_scan.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

Floats = np.ndarray

SEED = 20260314

#: The knife's own measures, mm: what chape should find.
BLADE, LENGTH = 92.0, 200.0
SPINE, BEHIND_EDGE, BEVEL = 3.4, 0.6, 0.9
NOISE = 0.02

#: Points on one side of a section, from edge to spine.
ROWS = 18


def reach(x: Floats) -> tuple[Floats, Floats]:
    """Return the lower and upper y of the knife at x: drop point, finger hollow, swell."""
    belly = 15 * np.clip(1 - x / 52, 0, 1) ** 2.3
    back = 23 - 8 * np.clip(1 - x / 45, 0, 1) ** 2
    guard = -5 * np.exp(-(((x - 97) / 4) ** 2))
    low = np.where(x < BLADE, belly, 1.5 + guard - 1.5 * np.cos((x - 150) / 18))
    high = np.where(x < BLADE, back, 23 + 1.5 * np.sin((x - BLADE) / 34))
    middle, round_up = (low + high) / 2, ends(x)
    return middle + (low - middle) * round_up, middle + (high - middle) * round_up


def ends(x: Floats) -> Floats:
    """Return how far the butt is rounded off at x: 1 along the knife, towards 0 at its end."""
    inside = np.clip((LENGTH - x) / 12, 0, 1)
    return np.sqrt(np.clip(1 - (1 - inside) ** 2, 0.0025, 1))


def thickness(x: Floats) -> Floats:
    """Return the full thickness of the handle at x."""
    front = np.clip((x - BLADE) / 6, 0, 1)
    rise = 0.6 + 0.4 * np.sqrt(1 - (1 - front) ** 2)
    return (16.5 + 2 * np.cos((x - 152) / 15)) * rise * ends(x)


def section(x: Floats) -> Floats:
    """Return (ROWS, 2) points of one side of the knife at x: y and half-thickness."""
    low, high = reach(x)
    if x < BLADE:
        bevel = min(BEVEL, 0.4 * (high - low))
        d = np.concatenate([[0, bevel / 2], np.linspace(bevel, high - low, ROWS - 2)])
        top = SPINE * min(1.0, 0.35 + x / 40)
        grind = BEHIND_EDGE + (top - BEHIND_EDGE) * (d - bevel) / (high - low - bevel)
        half = np.where(d < bevel, BEHIND_EDGE * d / bevel, grind) / 2
        return np.column_stack([low + d, half])
    angle = np.linspace(-np.pi / 2, np.pi / 2, ROWS)
    sine, cosine = np.sin(angle), np.clip(np.cos(angle), 0, 1)
    y = (low + high) / 2 + (high - low) / 2 * np.sign(sine) * np.abs(sine) ** (2 / 2.4)
    return np.column_stack([y, thickness(x) / 2 * cosine ** (2 / 2.4)])


def knife() -> tuple[Floats, Floats]:
    """Return vertices (n, 3) and faces (m, 3) of the closed knife, tip at x = 0."""
    blade = BLADE * np.linspace(0, 1, 66)[1:-1] ** 1.4
    handle = np.linspace(BLADE + 0.01, LENGTH - 12, 52)
    butt = LENGTH - 12 * (1 - np.sin(np.linspace(0, np.pi / 2, 14)[1:]))
    stations = np.concatenate([blade, [BLADE - 0.01], handle, butt])
    rings = []
    for x in stations:
        y, half = section(x).T
        front = np.column_stack([np.full(ROWS, x), y, half])
        back = np.column_stack([np.full(ROWS - 2, x), y[-2:0:-1], -half[-2:0:-1]])
        rings.append(np.vstack([front, back]))
    around = 2 * ROWS - 2
    tip, end = rings[0].mean(axis=0), rings[-1].mean(axis=0)
    tip[0], end[0] = 0.0, LENGTH
    vertices = np.vstack([*rings, tip, end])
    k, j = np.meshgrid(np.arange(len(stations) - 1), np.arange(around), indexing="ij")
    a, b = (k * around + j).ravel(), (k * around + (j + 1) % around).ravel()
    faces = [np.column_stack([a, a + around, b]), np.column_stack([b, a + around, b + around])]
    ring = np.arange(around)
    after, last = (ring + 1) % around, (len(stations) - 1) * around
    faces.append(np.column_stack([np.full(around, len(vertices) - 2), ring, after]))
    faces.append(np.column_stack([np.full(around, len(vertices) - 1), last + after, last + ring]))
    return vertices, np.vstack(faces)


def spoilt(vertices: Floats, faces: Floats, random: np.random.Generator) -> tuple[Floats, Floats]:
    """Return the knife as a scanner might see it: noise, a hole, specks and a piece of table."""
    centre = vertices[faces].mean(axis=1)
    hole = (np.hypot(centre[:, 0] - 150, centre[:, 1] - 11) < 4) & (centre[:, 2] > 0)
    faces = faces[~hole]
    vertices = vertices + random.normal(0, NOISE, vertices.shape)
    x, y = np.meshgrid(np.linspace(120, 144, 9), np.linspace(2, 20, 7))
    table = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, -11.0)])
    table += random.normal(0, NOISE, table.shape)
    corner = np.arange(x.size).reshape(x.shape)
    a, b = corner[:-1, :-1].ravel(), corner[:-1, 1:].ravel()
    c, d = corner[1:, :-1].ravel(), corner[1:, 1:].ravel()
    sheet = np.vstack([np.column_stack([a, b, c]), np.column_stack([b, d, c])])
    at = random.uniform([-10, -20, -11], [210, 40, 20], (25, 1, 3))
    specks = (at + random.normal(0, 0.3, (25, 3, 3))).reshape(-1, 3)
    lone = np.arange(75).reshape(-1, 3)
    count = len(vertices)
    faces = np.vstack([faces, sheet + count, lone + count + len(table)])
    return np.vstack([vertices, table, specks]), faces


def posed(vertices: Floats, random: np.random.Generator) -> Floats:
    """Return the vertices turned and moved at random, as a scanner's frame has it."""
    turn, _ = np.linalg.qr(random.normal(size=(3, 3)))
    turn[0] *= np.linalg.det(turn)
    return vertices @ turn.T + random.uniform(-100, 100, 3)


def ply(vertices: Floats, faces: Floats) -> bytes:
    """Return a binary PLY file."""
    header = (
        "ply\nformat binary_little_endian 1.0\ncomment an invented knife, in mm\n"
        f"element vertex {len(vertices)}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {len(faces)}\nproperty list uchar ushort vertex_indices\nend_header\n"
    )
    rows = np.zeros(len(faces), [("count", "u1"), ("corners", "<u2", (3,))])
    rows["count"], rows["corners"] = 3, faces
    return header.encode() + vertices.astype("<f4").tobytes() + rows.tobytes()


def scan() -> bytes:
    """Return the file's bytes."""
    random = np.random.default_rng(SEED)
    vertices, faces = spoilt(*knife(), random)
    return ply(posed(vertices, random), faces)


if __name__ == "__main__":
    path = Path(__file__).with_name("heron.ply")
    path.write_bytes(scan())
    print(f"{path}: {path.stat().st_size // 1000} kB")
