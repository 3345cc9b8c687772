"""A small mould with a hill on it, for tests of programs."""

from __future__ import annotations

from functools import cache

import numpy as np
import shapely

from chape.catalog.read import catalog
from chape.cutting.choose import for_fillet
from chape.cutting.model import KeepOut, Setup
from chape.field.envelope import Body, closing, opening
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.outline import Outline
from chape.tooling.model import RoundHole

SIZE = 48.0
SPACING = 0.3


@cache
def hill(height: float = 8.0, fillet: float = 3.1, spacing: float = SPACING) -> HeightField:
    """A rounded rectangle with drafted walls, fillets (3 mm unless told) and a domed top."""
    grid = Grid.over(0, 0, SIZE, SIZE, spacing)
    x, y = grid.mesh()
    across = np.maximum(np.abs(x - SIZE / 2) - 8, 0), np.maximum(np.abs(y - SIZE / 2) - 4, 0)
    away = np.hypot(*across) - 4
    top = height - 0.02 * ((x - SIZE / 2) ** 2 + (y - SIZE / 2) ** 2)
    z = np.clip(np.minimum(top, -away * np.tan(np.radians(80))), 0, None)
    rounded = opening(HeightField(grid, z), Body.ball(2.0))
    return closing(rounded, Body.ball(fillet))


def mould(holes: tuple[RoundHole, ...] = ()) -> Setup:
    surface = hill()
    return Setup(
        name="mould-top",
        title="Test mould (one hill)",
        offset="G54",
        machine=catalog().machine("router-600"),
        cutters=for_fillet(catalog().rack("rack-6").cutters, 3.0),
        stock=HeightField.flat(surface.grid, float(surface.z.max()) + 1.0),
        target=surface,
        z_bottom=-25.0,
        holes=holes,
        grooves=(),
        outlines=(),
        sheet_gauge=0.0,
        keep_outs=(),
        flipped=False,
        width=SIZE,
        depth=SIZE,
    )


def rounded_part(x: float, y: float, half: float, corner: float) -> Outline:
    """A square with rounded corners, counter-clockwise."""
    b, c, t = half, half - corner, np.tan(np.pi / 8)
    points = [[-c, -b], [c, -b], [b, -c], [b, c], [c, b], [-c, b], [-b, c], [-b, -c]]
    return Outline(np.array(points) + np.array([x, y]), np.array([0, t] * 4))


def trim() -> Setup:
    """Two parts on a flat sheet of 2 mm, with screws over a groove 2 mm deep and 9 mm wide."""
    grid = Grid.over(0, 0, 70, 40, 0.25)
    parts = (rounded_part(18, 20, 10, 4), rounded_part(50, 20, 10, 4))
    holes = tuple(RoundHole(x, 20.0, 6.4, 2.0, -0.3, "eyelet") for x in (18.0, 50.0))
    posts = (
        KeepOut(18.0, 20.0, 5.25, 5.3, after_stop=True),
        KeepOut(50.0, 20.0, 5.25, 5.3, after_stop=True),
        KeepOut(34.0, 3.0, 2.0, 5.3, after_stop=False),
    )
    x, y = grid.mesh()
    ways = shapely.union_all([part.polygon().buffer(3.0).exterior for part in parts])
    seat = np.where(shapely.contains_xy(ways.buffer(4.5), x, y), -2.0, 0.0)
    return Setup(
        name="trim",
        title="Trim",
        offset="G55",
        machine=catalog().machine("router-600"),
        cutters=catalog().rack("rack-6").cutters,
        stock=HeightField.flat(grid, 2.0),
        target=HeightField(grid, seat),
        z_bottom=-25.0,
        holes=holes,
        grooves=(),
        outlines=parts,
        sheet_gauge=2.0,
        keep_outs=posts,
        flipped=False,
        width=70.0,
        depth=40.0,
    )
