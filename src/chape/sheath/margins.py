"""What binds the trimmed outline, point by point, and how much sheet stands beyond it.

At every point of the outline each thing that must lie inside, with its own margin, leaves some
slack. Where the least slack is nothing, that thing binds; elsewhere the line is only fair.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.field.contour import regions_above
from chape.sheath.model import HoleUse
from chape.sheath.slots import edge_distance

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from chape.field.grid import Floats
    from chape.sheath.model import Piece, Sheath

#: Points of the outline are this far apart, mm.
STEP = 0.5

#: With less slack than this a thing binds, mm: the fit of arcs and a chord's sagitta.
BINDS = 0.1

#: What stands higher than this is wall, mm.
FOOT_LEVEL = 0.02


class Binding(StrEnum):
    """What holds the outline where it is."""

    RIVET = "rivet"
    CLIP = "clip hole"
    SLOT = "slot"
    WALL = "wall"
    CUT = "mouth and tip"
    FAIR = "fair line"


@dataclass(frozen=True, slots=True, eq=False)
class Margins:
    """The outline of one piece with what binds it.

    Attributes:
        points: (n, 2) evenly along the outline, flat frame, mm.
        binding: (n,) what binds there.
        beyond: (n,) sheet beyond what the nearest thing needs, mm; 0 where it binds.
    """

    points: Floats
    binding: tuple[Binding, ...]
    beyond: Floats

    @property
    def shares(self) -> dict[Binding, float]:
        """Share of the outline's length that each thing binds."""
        count = len(self.binding)
        return {kind: self.binding.count(kind) / count for kind in Binding}


def margins_of(sheath: Sheath, piece: Piece) -> Margins:
    """Return what binds a piece's outline."""
    ring = piece.pattern.polygon(0.005).exterior
    count = max(3, round(ring.length / STEP))
    at = shapely.line_interpolate_point(ring, np.arange(count) * (ring.length / count))
    points: Floats = shapely.get_coordinates(at)
    slack = {Binding.CUT: _from_cuts(piece, points, sheath.mouth_x)}
    slack |= {kind: shapely.distance(core, at) for kind, core in _needs(sheath, piece).items()}
    kinds = list(slack)
    table = np.vstack([slack[kind] for kind in kinds])
    nearest = np.argmin(table, axis=0)
    beyond = table.min(axis=0)
    binding = tuple(
        kinds[n] if least <= BINDS else Binding.FAIR
        for n, least in zip(nearest, beyond, strict=True)
    )
    return Margins(points, binding, np.where(beyond <= BINDS, 0.0, beyond))


def _needs(sheath: Sheath, piece: Piece) -> dict[Binding, BaseGeometry]:
    """Return what must lie inside the outline, grown by its own margin."""
    edging = sheath.choices.edging
    walls = regions_above(piece.formed, FOOT_LEVEL)
    needs: dict[Binding, BaseGeometry] = {Binding.WALL: walls.buffer(edging.wall, quad_segs=32)}
    for kind, use in ((Binding.RIVET, HoleUse.EYELET), (Binding.CLIP, HoleUse.CLIP)):
        discs = [
            shapely.Point(hole.u, hole.v).buffer(hole.keep_clear + edging.margin, quad_segs=64)
            for hole in piece.holes
            if hole.use is use
        ]
        if discs:
            needs[kind] = shapely.union_all(discs)
    if piece.slots:
        edge = edge_distance(float(sheath.sheet.gauge.value))
        needs[Binding.SLOT] = shapely.union_all(
            [slot.area(0.005).buffer(edge, quad_segs=64) for slot in piece.slots]
        )
    return needs


def _from_cuts(piece: Piece, points: Floats, mouth_x: float) -> Floats:
    """Return how far points lie from the straight cuts at tip and mouth, mm."""
    first = piece.pattern.bounds[0]
    return np.minimum(np.abs(points[:, 0] - first), np.maximum(mouth_x - points[:, 0], 0.0))
