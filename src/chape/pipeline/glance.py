"""A glance at a sheath while it is dragged: designed coarsely, in a tenth of a second.

The same design as the job's, on a grid of ``SPACING``, with the same checks. What a drag does not
touch is kept: the knife, and the plan of holes for clips. The snap depth is the one found last, or
the file's: to search for it takes longer than a drag; so does the free play.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from chape.fit.clearance import edge_clearance
from chape.knife.read import read_knife
from chape.pipeline.file import read_request
from chape.pipeline.folder import sha256
from chape.pipeline.keep import key_of
from chape.sheath.cavity import pad_weights
from chape.sheath.check import check_sheath
from chape.sheath.closed import clearance, knife_points, walls_of
from chape.sheath.design import design_sheath
from chape.sheath.halves import half_holes, reach_along
from chape.sheath.kept_holes import KeptHoles

if TYPE_CHECKING:
    from pathlib import Path

    from chape.findings import Finding
    from chape.knife.model import Knife
    from chape.pipeline.file import Request
    from chape.sheath.model import Sheath

#: Grid of a glance, mm.
SPACING = 1.2

#: The draw is followed in steps of this, with points on the edge so far apart, mm.
DRAW_STEP, EDGE_STEP = 8.0, 2.0

#: What a coarse grid itself brings about, and a fine one does not; the exact design tells of them.
COARSE = ("fold-closure", "wall-draft-low")

#: Knives kept at a time: another sheath's, or one that is being changed as well.
KNIVES_KEPT = 4


@dataclass(frozen=True, slots=True)
class Figures:
    """What is read off at a glance.

    Attributes:
        spacing: of the grid it was seen on, mm.
        least_clearance: between knife and sheath at home, away from tip pads, mm.
        edge_clearance: of the edge, at home and at every few mm of the draw, mm.
        length: of the trimmed sheath along x, mm.
        snap_depth: it was designed with, mm.
        mass: of the sheet without rivets and clips, as if it kept its thickness, g.
        flat_area: of its pieces, mm².
        blank_use: share of the blank that as many copies as asked for take.
        copies: asked for.
        holes: in one half, drains included.
    """

    spacing: float
    least_clearance: float
    edge_clearance: float
    length: float
    snap_depth: float
    mass: float
    flat_area: float
    blank_use: float
    copies: int
    holes: int


@dataclass(frozen=True, slots=True, eq=False)
class Glance:
    """A sheath as it was seen.

    Attributes:
        carried: its holes are the last plan's, carried along.
    """

    request: Request
    sheath: Sheath
    figures: Figures
    findings: tuple[Finding, ...]
    carried: bool


class Glancer:
    """Glances at one sheath after another, and keeps what a drag does not touch.

    Args:
        spacing: of the grid, mm; a file that asks for a coarser one gets that.
    """

    def __init__(self, spacing: float = SPACING) -> None:
        self._spacing = spacing
        self._knives: dict[str, Knife] = {}
        self._holes: dict[Path, KeptHoles] = {}
        self._last: tuple[str, Glance] | None = None

    def look(
        self,
        path: Path,
        tables: dict[str, Any] | None = None,
        *,
        dragging: bool = False,
        depth: float | None = None,
    ) -> Glance:
        """Return a sheath as seen at a glance.

        Args:
            path: the sheath file.
            tables: what it would hold; None reads it.
            dragging: more of the same is to come: holes planned before may serve.
            depth: snap depth that was found last for a hold, mm; it serves where one is asked for.

        Raises:
            InputError: whatever is wrong with the file.
            CannotMakeError: no such sheath can be made.
        """
        request = read_request(path, tables=tables)
        if depth is not None and request.file.fit.hold is not None:
            request = _with_depth(request, depth)
        digests = {name: sha256(content) for name, content in request.inputs.items()}
        key = _key({str(path): repr(request.file.sheath.snap_depth), **digests})
        if self._last is not None and self._last[0] == key:
            last = self._last[1]
            if dragging or not last.carried:
                return last
        own = {name: digests[name] for name in request.knife_inputs}
        glance = self._look(request, _key(own), dragging=dragging)
        self._last = key, glance
        return glance

    def _look(self, request: Request, knife_key: str, *, dragging: bool) -> Glance:
        asked, path = request.file.sheath, request.path
        choices = asked.model_copy(update={"spacing": max(self._spacing, asked.spacing)})
        knife = self._knife(request, choices.spacing, f"{choices.spacing} {knife_key}")
        holes = self._holes.setdefault(path, KeptHoles())
        if len(self._holes) > KNIVES_KEPT:
            del self._holes[next(iter(self._holes))]
        holes.dragging = dragging
        sheath = design_sheath(knife, choices, request.catalog, holes)
        seen = tuple(each for each in check_sheath(sheath) if each.code not in COARSE)
        return Glance(request, sheath, figures_of(sheath, request), seen, holes.carried)

    def _knife(self, request: Request, spacing: float, key: str) -> Knife:
        knife = self._knives.pop(key, None)
        if knife is None:
            knife = read_knife(request.knife, spacing)
        self._knives[key] = knife
        while len(self._knives) > KNIVES_KEPT:
            del self._knives[next(iter(self._knives))]
        return knife


def _with_depth(request: Request, depth: float) -> Request:
    sheath = request.file.sheath.model_copy(update={"snap_depth": depth})
    return replace(request, file=request.file.model_copy(update={"sheath": sheath}))


def _key(digests: dict[str, str]) -> str:
    return key_of(*(part for name in sorted(digests) for part in (name, digests[name])))


def figures_of(sheath: Sheath, request: Request) -> Figures:
    """Return what is read off a sheath at a glance."""
    first, last = reach_along(sheath)
    flat = sum(
        piece.pattern.area
        - sum(np.pi * hole.diameter**2 / 4 for hole in piece.holes)
        - sum(slot.area().area for slot in piece.slots)
        for piece in sheath.pieces
    )
    blank = request.file.blank
    outlines = sum(piece.pattern.area for piece in sheath.pieces)
    # Drawn over the mould a sheet grows as much thinner as it grows longer.
    grams = flat * sheath.sheet.gauge.value * sheath.sheet.density.value * 1e-6
    return Figures(
        spacing=sheath.choices.spacing,
        least_clearance=least_clearance(sheath),
        edge_clearance=edge_clearance(sheath, DRAW_STEP, EDGE_STEP),
        length=last - first,
        snap_depth=sheath.choices.snap_depth,
        mass=float(grams),
        flat_area=float(flat),
        blank_use=blank.copies * outlines / (blank.width * blank.depth),
        copies=blank.copies,
        holes=len(half_holes(sheath, upper=False)),
    )


def least_clearance(sheath: Sheath) -> float:
    """Return the least distance between knife and closed sheath, home, away from tip pads, mm."""
    points = knife_points(sheath.knife, sheath.mouth_x, EDGE_STEP)
    grid = sheath.cavity.grid
    pads = sheath.cavity.with_z(pad_weights(sheath.knife, sheath.choices, grid))
    points = points[pads.at(points[:, :2]) == 0]
    return min(
        float(clearance(walls_of(sheath, upper=upper), points).min()) for upper in (False, True)
    )
