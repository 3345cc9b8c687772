"""A made-up sheath for tooling tests: two drafted half-cavities, a strip between, an outline."""

from functools import cache

import numpy as np
import shapely

from chape.catalog.read import catalog
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.outline import Outline
from chape.knife.model import Edges, Knife
from chape.sheath.model import Fold, Hole, HoleUse, Piece, Sheath, SheathChoices

LENGTH, HALF_WIDTH, RUN_ON = 165.0, 54.0, 6.0


def _body(u, v):
    """Height of a smooth body, pointed at u = 10, running on past the mouth at u = 165."""
    half = 34.0 * np.clip((u - 10.0) / 60.0, 0.0, 1.0) ** 0.6
    aside = half - np.abs(v)
    end = LENGTH + RUN_ON - u
    inside = np.minimum(aside, np.minimum(end, u - 10.0))
    height = 4.0 + 5.0 / (1 + np.exp(-(u - 115.0) / 4.0))
    rise = np.clip(inside / 3.0, 0.0, 1.0)
    smooth = rise * rise * (3 - 2 * rise)
    # A hollow along the blade between the strip and each half.
    hollow = 1.0 - 0.25 * np.exp(-(((np.abs(v) - 12.0) / 3.0) ** 2)) * (np.abs(u - 90) < 25)
    return height * smooth * hollow


def eyelet_holes(count=6):
    flange = 5.25
    along = np.linspace(35.0, LENGTH - 15.0, count)
    return tuple(
        Hole(float(u), side * 44.0, 6.5, HoleUse.EYELET, flange + 1.0)
        for side in (-1, 1)
        for u in along
    )


@cache
def plain_sheath(spacing=0.5):
    grid = Grid.over(-14.0, -60.0, LENGTH + 12.0, 60.0, spacing)
    formed = HeightField.of(grid, _body)
    near = [(0.0, -20.0), (30.0, -HALF_WIDTH), (LENGTH, -HALF_WIDTH)]
    points = np.array([*near, *((u, -v) for u, v in reversed(near))])
    shelf = catalog()
    return Sheath(
        choices=SheathChoices(name="plain", knife="plain.toml", spacing=spacing),
        knife=plain_knife(),
        sheet=shelf.sheet("acrylic-pvc-2.0"),
        eyelet=shelf.eyelet("eyelet-6.4"),
        clips=(),
        cavity=formed,
        envelope=formed,
        fold=Fold(0.0, np.zeros(1), np.zeros(1), np.zeros(1), 0.4, 2.0),
        pieces=(
            Piece(
                "sheath",
                formed,
                Outline(points, np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.1])),
                eyelet_holes(),
            ),
        ),
        mouth_x=LENGTH,
    )


@cache
def plain_knife(spacing=0.5):
    grid = Grid.over(-2.0, -2.0, 202.0, 32.0, spacing)

    def half(x, y):
        blade = np.clip((y - 2.0) / 18.0, 0.0, 1.0) * 2.0 * np.clip(x / 10.0, 0.0, 1.0)
        handle = 8.0 * np.sqrt(np.clip(1 - ((y - 15.0) / 13.0) ** 2, 0.0, None))
        inside = (x >= 0) & (x <= 200) & (y >= 2.0) & (y <= 28.0)
        blade = np.where(y <= 26.0, blade, 0.0)
        return np.where(inside, np.where(x < 110.0, blade, handle), 0.0)

    return Knife(
        name="plain",
        outline=shapely.box(0, 2, 200, 28),
        half=HeightField.of(grid, half),
        edge_band=shapely.MultiPolygon([shapely.box(0, 2, 110, 5)]),
        edges=Edges.SINGLE,
        blade_length=110.0,
        uncertainty=0.1,
        source="made up",
        measured=None,
    )
