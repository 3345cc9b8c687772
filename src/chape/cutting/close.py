"""Where close rings follow: what all other lines of a ball have left that it can reach.

They go where much is left, and to the largest of the other places until the goal is reached: that
no more than a hundredth of the sloping ground has too much left.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from chape.cutting.creases import kinks
from chape.cutting.locate import tip_heights
from chape.cutting.runs import without_specks
from chape.cutting.zones import nearest, on_map, touching, widened

if TYPE_CHECKING:
    from chape.cutting.ball import Ball
    from chape.cutting.left import Standing
    from chape.cutting.zones import Mask
    from chape.field.grid import Floats, Grid
    from chape.field.heights import HeightField

#: Close rings follow where this much is left along the normal, mm, and so many times the ridge that
#: is wanted, if somewhere near it is enough.
LEFT = 0.03, 1.5

#: And the largest of the other places, until no more than this share of the sloping ground is
#: thought to have so much left; not where it is more than the second figure: there the grid is too
#: coarse for the ball to come to that.
MOST_LEFT, IN_SIGHT = 0.01, 0.045

#: Of a place where enough is left for close rings, only what lies so near to that is covered, mm.
BESIDE = 0.8

#: A crease is cut once more as near to such a place as this share of the ball's radius.
CREASE_BESIDE = 0.8

#: Places of no more nodes than this are covered with a margin of one more.
SMALL = 24

#: The tip is tried at so many places between two nodes of the map, each way.
TRIED = 4


def close_places(
    standing: Standing, reach: HeightField, cutter: Ball, enough: tuple[float, float]
) -> Mask:
    """Return the nodes of the map around what is left that the ball can reach and is worth it.

    Args:
        standing: what stands.
        reach: the tip's map.
        cutter: the ball.
        enough: left in one place: at least so many mm, and so many times the wanted ridge.
    """
    grid, coarse = standing.surface.grid, reach.grid
    left = standing.left()
    some, much_left = (max(least, share * cutter.scallop) for least, share in (LEFT, enough))
    # What the ball can reach of a place is no more than is left there: where that is too little
    # nothing need be tried.
    around = widened(on_map(left > some, grid, coarse), 1)
    around = _holding(around, on_map(left > much_left, grid, coarse)) | _largest(
        standing, left > some, left > some, around, coarse
    )
    tried = _tried(standing, reach, cutter, _over(around, reach, cutter))
    comes_off = np.minimum(left, standing.left(standing.surface.z + standing.z - tried))
    much = on_map(comes_off > much_left, grid, coarse)
    around = widened(on_map(comes_off > some, grid, coarse), 1)
    # A thin rest runs on for long: only so much of it as lies near to what is worth the way.
    chosen = _holding(around & widened(much, round(BESIDE / coarse.spacing)), much)
    helped = (left > some) & (standing.left(tried) <= some)
    near = widened(on_map(helped, grid, coarse), 1)
    chosen |= _largest(standing, left > some, helped, near, coarse)
    # Rings smooth the edges of their zones: small ones would be lost.
    large = without_specks(chosen, SMALL + 1)
    return _over(chosen | widened(chosen & ~large, 1), reach, cutter)


def _tried(standing: Standing, reach: HeightField, cutter: Ball, over: Mask) -> Floats:
    """Return what would still stand if the ball were put down all over some nodes of the map."""
    grid = reach.grid
    rows, columns = np.nonzero(over)
    # On a lattice so close that it stands in every valley.
    offset = grid.spacing * (np.arange(TRIED) / TRIED - 0.5)
    x = (grid.x[columns, None, None] + offset[None, :, None] + 0 * offset).ravel()
    y = (grid.y[rows, None, None] + offset[None, None, :] + 0 * offset[:, None]).ravel()
    places = np.column_stack([x, y])
    heights = tip_heights(standing.surface, cutter.body, places)
    return standing.tried(np.column_stack([places, heights]), cutter.body)


def _over(mask: Mask, reach: HeightField, cutter: Ball) -> Mask:
    """Return where the ball's middle may be while it takes something off in a mask.

    In a crease it touches beside a fillet, and takes off what stands in it.
    """
    creases = ndimage.binary_dilation(kinks(reach))
    around = round(CREASE_BESIDE * cutter.radius / reach.grid.spacing)
    near = creases & widened(mask, around)
    over: Mask = touching(mask, reach, cutter) | near
    return over


def _largest(standing: Standing, much: Mask, helped: Mask, around: Mask, coarse: Grid) -> Mask:
    """Return the largest connected parts of a map's mask, as many as are needed for the goal.

    Args:
        standing: what stands.
        much: nodes of the surface with too much left.
        helped: those of them that a part of the mask takes away.
        around: nodes of the map.
        coarse: the map's.
    """
    area = standing.sloping
    needed = area[much].sum() - MOST_LEFT * area.sum()
    if needed > (IN_SIGHT - MOST_LEFT) * area.sum():
        return np.zeros_like(around)
    labels, count = ndimage.label(around, structure=np.ones((3, 3)))
    rows, columns = np.nonzero(helped)
    parts = labels[nearest(rows, columns, standing.surface.grid, coarse)]
    held = np.bincount(parts, area[rows, columns], minlength=count + 1)
    order = np.argsort(-held[1:], kind="stable") + 1
    before = np.cumsum(held[order]) - held[order]
    chosen = np.zeros(count + 1, dtype=np.bool_)
    chosen[order[before < needed]] = True
    found: Mask = chosen[labels]
    return found


def _holding(mask: Mask, spots: Mask) -> Mask:
    """Return the connected parts of a mask in which there is any of some spots."""
    labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    chosen = np.zeros(count + 1, dtype=np.bool_)
    chosen[labels[spots]] = True
    chosen[0] = False
    held: Mask = chosen[labels]
    return held
