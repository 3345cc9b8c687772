"""Places where a hole may be drilled, and which of them each placement of a clip could use.

Along every line of eyelets stands a place each half millimetre. A clip's hole that finds none of
them near enough brings a place of its own, which other clips may use as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from scipy.spatial import cKDTree

from chape.sheath.clip_places import ASTRAY_MOST, PLACE_STEP

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Bools, Floats
    from chape.sheath.clip_places import ClipWish, Ground, Placement

    Counts = npt.NDArray[np.int64]

#: A hole and a screw's hole in a clip are of one size within this, mm.
SAME_SIZE = 0.3

#: How near a place must be to where a clip's hole comes: half the play is left for the other clips.
NEAR = ASTRAY_MOST - PLACE_STEP / 100


@dataclass(frozen=True, slots=True, eq=False)
class Sites:
    """Places for holes.

    Attributes:
        points: (n, 2) sheath frame, mm.
        along, out: (n,) along their line and out of it, mm.
        locus: (n,) which line.
        diameter: (n,) of the hole that would be drilled there, mm.
        rivet: (n,) true for an eyelet's hole, false for a plain one.
        on_line: (n,) true for the places that stand along the lines whatever the clips.
        held: (n,) which of the maker's own places it is, -1 for all others.
    """

    points: Floats
    along: Floats
    out: Floats
    locus: Counts
    diameter: Floats
    rivet: Bools
    on_line: Bools
    held: Counts

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.along)


def sites_of(
    ground: Ground,
    eyelet_hole: float,
    wishes: tuple[ClipWish, ...],
    placements: tuple[Placement, ...],
    step: float = PLACE_STEP,
) -> Sites:
    """Return every place for a hole, those along the lines first.

    Args:
        ground: where holes may stand.
        eyelet_hole: diameter of an eyelet's hole, mm.
        wishes: the clips, as the placements number them.
        placements: every way a clip may lie.
        step: from place to place along a line, mm.
    """
    rows = [_on_line(number, ground, step) for number in range(len(ground.loci))]
    stood = np.vstack(rows) if rows else np.zeros((0, 5))
    sizes = [size_of(wish, eyelet_hole) for wish in wishes]
    groups = [(stood, eyelet_hole, True, True)]
    for size in sorted(set(sizes)):
        near = stood[:, :2] if size == eyelet_hole else np.zeros((0, 2))
        own = [p for p in placements if sizes[p.clip] == size]
        groups.append((_brought(own, near), size, size == eyelet_hole, False))
    stays = ground.held
    own_table = np.column_stack([stays.points, stays.along, stays.out, stays.locus])
    groups.append((own_table, eyelet_hole, True, False))
    table = np.vstack([group for group, *_ in groups])
    counts = [len(group) for group, *_ in groups]
    size_column, rivet, on_line = (
        np.repeat(np.array([group[k] for group in groups]), counts) for k in (1, 2, 3)
    )
    return Sites(
        table[:, :2], table[:, 2], table[:, 3], table[:, 4].astype(np.int64),
        size_column.astype(np.float64), rivet.astype(np.bool_), on_line.astype(np.bool_),
        np.append(np.full(len(table) - len(stays), -1), np.arange(len(stays))).astype(np.int64),
    )  # fmt: skip


def size_of(wish: ClipWish, eyelet_hole: float) -> float:
    """Return the diameter drilled for a clip: the eyelets' where that is near enough, mm."""
    own = wish.clip.hole.value
    return eyelet_hole if abs(own - eyelet_hole) <= SAME_SIZE else own


def uses_of(
    sites: Sites, placements: tuple[Placement, ...], sizes: list[float]
) -> list[list[tuple[int, ...]]]:
    """Return for each placement, for each of its holes, the sites that would do.

    Args:
        sites: places for holes.
        placements: every way a clip may lie.
        sizes: diameter drilled for each clip, mm.
    """
    uses: list[list[tuple[int, ...]]] = [[] for _ in placements]
    for size in sorted(set(sizes)):
        chosen = np.flatnonzero(sites.diameter == size)
        own = [k for k, p in enumerate(placements) if sizes[p.clip] == size]
        if not own:
            continue
        holes = np.vstack([placements[k].holes for k in own])
        tree = cKDTree(sites.points[chosen])
        # The stubs do not know that many points give many lists.
        found: Any = tree.query_ball_point(holes, ASTRAY_MOST, return_sorted=True)
        row = 0
        for k in own:
            for _ in placements[k].holes:
                uses[k].append(tuple(int(chosen[j]) for j in found[row]))
                row += 1
    return uses


def _on_line(number: int, ground: Ground, step: float) -> Floats:
    """Return (m, 5) x, y, along, out and line of the places along one line."""
    locus = ground.loci[number]
    along = np.append(np.arange(0.0, locus.length - step / 4, step), locus.length)
    points = locus.at(along)
    free: Bools = np.ones(len(along), dtype=np.bool_)
    if ground.taken is not None:
        free = np.asarray(shapely.distance(shapely.points(points), ground.taken) >= ground.seat)
    free &= ~ground.held.beside(points, ground.clear)
    rest = np.broadcast_to([0.0, float(number)], (len(along), 2))
    return np.column_stack([points, along, rest])[free]


def _brought(placements: list[Placement], stood: Floats) -> Floats:
    """Return (m, 5) places that clips' holes bring where none stands near enough."""
    if not placements:
        return np.zeros((0, 5))
    holes = np.vstack([p.holes for p in placements])
    told = np.column_stack(
        [
            holes,
            np.concatenate([p.along for p in placements]),
            np.concatenate([p.out for p in placements]),
            np.repeat([float(p.locus) for p in placements], [len(p.holes) for p in placements]),
        ]
    )
    lonely: Bools = np.ones(len(holes), dtype=np.bool_)
    if len(stood):
        lonely = np.asarray(cKDTree(stood).query(holes)[0] > NEAR)
    told = told[lonely]
    # Take them in turn, leaving out what one taken before already serves.
    if not len(told):
        return told
    near: Any = cKDTree(told[:, :2]).query_ball_point(told[:, :2], NEAR, return_sorted=True)
    kept, served = [], np.zeros(len(told), dtype=np.bool_)
    for k, others in enumerate(near):
        if not served[k]:
            kept.append(k)
            served[others] = True
    return told[kept]
