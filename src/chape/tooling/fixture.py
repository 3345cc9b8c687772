"""The trim fixture: a seat under the formed blank, with a groove for the trim cutter to run in.

The seat is the formed inner surface moved inwards by the seat clearance; the flange plane stays
where it is, so that flanges lie on it. The relief groove follows the trim cutter's own path, the
outline moved outwards by the cutter's radius, with a level floor below the flange plane: where
the path crosses the raised mouth it cuts through the seat to that floor.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from chape.errors import CannotMakeError
from chape.field.envelope import Body, erode, locate
from chape.field.outline import fit_outline, offset
from chape.tolerances import FLATTEN
from chape.tooling.boards import board_pins
from chape.tooling.model import Fixture, Groove, RoundHole
from chape.tooling.reliefs import WIDER, hole_reliefs, placed_slots
from chape.tooling.screws import INSERT_WALL, corner_screws, keep_out_radius, screwed_eyelets

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.model import Screw
    from chape.catalog.read import Catalog
    from chape.field.heights import HeightField
    from chape.field.outline import Outline
    from chape.tooling.model import FixtureChoices, Layout

#: Diameter of the trim cutter unless another is asked for, mm.
TRIM_CUTTER = 6.0

#: Least plate below an insert hole, mm (common practice, no source).
FLOOR = 3.0


def make_fixture(
    layout: Layout, choices: FixtureChoices, catalog: Catalog, trim_cutter: float = TRIM_CUTTER
) -> Fixture:
    """Make the trim fixture of a layout.

    Args:
        layout: the blank.
        choices: what the maker decided.
        catalog: where screw and board are looked up.
        trim_cutter: diameter of the cutter that trims the outlines, mm.

    Raises:
        InputError: the catalogue has no such screw or board, or the board's pins do not fit.
        CannotMakeError: the cutter does not pass between the outlines, the groove is narrower
            than the cutter or undercuts a neighbour, the plate is too thin, or the screw too thick.
    """
    screw, board = catalog.screw(choices.screw), catalog.board(choices.board)
    _check(layout, choices, screw, trim_cutter)
    _check_thread(layout, choices, catalog)
    blank = layout.blank
    z_bottom = -choices.plate
    radius = trim_cutter / 2
    paths = tuple(_trim_path(pattern, radius) for pattern in layout.patterns)
    formed = _without_run_on(layout.formed, paths)
    seat = seat_under(formed, choices.seat_clearance, layout.fillet)
    floor = -choices.relief_depth
    slots = placed_slots(layout, WIDER, floor)
    surface = _relieved(seat, _channels(paths, choices.relief_width, slots), floor)
    keep_out = keep_out_radius(screw, trim_cutter)
    # The path runs one cutter radius outside the outline.
    eyelets = [
        screwed_eyelets(
            layout.piece_of(part), part.place, choices.screws_per_sheath, keep_out - radius
        )
        for part in layout.parts
    ]
    buttons = shapely.union_all([shapely.Point(x, y).buffer(r) for x, y, r, _ in layout.locators])
    # At the corners there is room to choose: the insert shall have a whole wall beside the groove.
    off_groove = (choices.relief_width + float(screw.insert_hole.value)) / 2 + INSERT_WALL
    corners = corner_screws(
        blank,
        screw,
        [path.polygon(FLATTEN) for path in paths],
        buttons,
        max(keep_out, off_groove),
    )
    inserts = np.vstack([*eyelets, corners])
    depth = float(screw.insert_depth.value)
    hole = float(screw.insert_hole.value)
    return Fixture(
        layout=layout,
        surface=surface,
        seat=seat,
        width=blank.width,
        depth=blank.depth,
        z_bottom=z_bottom,
        z_stock=float(seat.z.max()) + choices.allowance,
        inserts=tuple(
            RoundHole(float(x), float(y), hole, 0.0, -depth, "insert") for x, y in inserts
        ),
        pins=board_pins(board, blank.width, blank.depth, z_bottom),
        reliefs=hole_reliefs(layout, seat, inserts),
        trim_paths=paths,
        screws=tuple(range(len(inserts) - len(corners))),
        screw=screw,
        board=board,
        grooves=tuple(Groove(_closed(path), choices.relief_width, floor) for path in paths),
        slots=slots,
        trim_cutter=trim_cutter,
    )


def _check(layout: Layout, choices: FixtureChoices, screw: Screw, cutter: float) -> None:
    gap = layout.blank.gap
    if len(layout.parts) > 1 and cutter > gap:
        raise CannotMakeError(
            f"a trim cutter of {cutter:g} mm does not pass between outlines {gap:g} mm apart",
            mend=f"Set blank.gap to at least {cutter:g} mm, or trim with a smaller cutter",
        )
    if choices.relief_width < cutter:
        raise CannotMakeError(
            f"a relief groove of {choices.relief_width:g} mm is narrower than the trim cutter of "
            f"{cutter:g} mm that runs in it",
            mend=f"Set fixture.relief_width to at least {cutter:g} mm",
        )
    undercut = (choices.relief_width - cutter) / 2
    least = _least_edge_distance(layout)
    if undercut >= least:
        raise CannotMakeError(
            f"a relief groove of {choices.relief_width:g} mm reaches {undercut:g} mm under the "
            f"sheath, as far as its eyelet holes, {least:.1f} mm from the outline",
            mend=f"Set fixture.relief_width below {cutter + 2 * least:.1f} mm",
        )
    depth = float(screw.insert_depth.value)
    if choices.plate - depth < FLOOR:
        raise CannotMakeError(
            f"insert holes {depth:g} mm deep leave {choices.plate - depth:g} mm of a plate of "
            f"{choices.plate:g} mm; {FLOOR:g} mm are needed",
            mend=f"Set fixture.plate to at least {depth + FLOOR:g} mm, or use a smaller screw",
        )
    if choices.plate - choices.relief_depth < FLOOR:
        raise CannotMakeError(
            f"a relief groove {choices.relief_depth:g} mm deep leaves less than {FLOOR:g} mm of a "
            f"plate of {choices.plate:g} mm",
            mend="Use a thicker plate or a shallower groove (fixture.plate, fixture.relief_depth)",
        )


def _check_thread(layout: Layout, choices: FixtureChoices, catalog: Catalog) -> None:
    """See that the hold-down screws go through the eyelets' holes."""
    hole = min(sheath.eyelet.hole.value for sheath in layout.sheaths)
    thread = catalog.screw(choices.screw).thread.value
    if choices.screws_per_sheath == 0 or thread <= hole:
        return
    passing = [name for name in catalog.names("screws") if catalog.screw(name).thread.value <= hole]
    raise CannotMakeError(
        f'the thread of "{choices.screw}", {thread:g} mm, does not go through eyelet holes of '
        f"{hole:g} mm",
        mend=f"Set fixture.screw to one of: {', '.join(passing)}"
        if passing
        else "Set fixture.screws_per_sheath to 0, or add a smaller screw to workshop.toml",
    )


def _least_edge_distance(layout: Layout) -> float:
    """Return the least sheet between an eyelet hole and the outline, mm."""
    distances = [
        piece.pattern.polygon(FLATTEN).exterior.distance(shapely.Point(hole.u, hole.v))
        - hole.diameter / 2
        for sheath in layout.sheaths
        for piece in sheath.pieces
        for hole in piece.holes
        if hole.use == "eyelet"
    ]
    return min(distances, default=float("inf"))


def seat_under(formed: HeightField, clearance: float, fillet: float) -> HeightField:
    """Return the formed surface moved inwards by ``clearance`` mm, never below the flange plane.

    The flange plane cuts the lowest part of the foot's fillet off, and leaves a crease there that
    no ball reaches. So the foot is filled again to a fillet of ``fillet`` mm: the sheath's own one,
    no more than the clearance nearer to the wall than it, so that the sheath still goes on.
    """
    if clearance == 0:
        return formed
    ball = Body(0.0, clearance, float("inf"), clearance, lift=clearance)
    inwards = erode(formed, ball)
    creased = formed.with_z(np.maximum(0.0, inwards.z))
    return _filled_foot(creased, formed, fillet)


def _filled_foot(creased: HeightField, formed: HeightField, fillet: float) -> HeightField:
    """Return the surface as a ball leaves it along the feet of its walls, no higher than formed."""
    grid = creased.grid
    room = fillet / grid.spacing + 1
    level = creased.z <= 0
    near = ndimage.distance_transform_edt(level) <= room
    foot = near & (creased.z < fillet) & (ndimage.distance_transform_edt(~level) <= room)
    if not foot.any():
        return creased
    around = ndimage.distance_transform_edt(~foot) <= room
    x, y = grid.mesh()
    ball = Body.ball(fillet)
    tips = np.full(grid.shape, float(creased.z.max()) + 2 * fillet)
    tips[around] = locate(creased, np.column_stack([x[around], y[around]]), ball)
    filled = creased.z.copy()
    filled[foot] = -locate(creased.with_z(-tips), np.column_stack([x[foot], y[foot]]), ball)
    return creased.with_z(np.clip(filled, creased.z, np.maximum(creased.z, formed.z)))


def _trim_path(pattern: Outline, radius: float) -> Outline:
    return fit_outline(offset(pattern, radius))


def _closed(path: Outline) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    points = path.flattened(FLATTEN)
    return np.vstack([points, points[:1]])


def _without_run_on(formed: HeightField, paths: Sequence[Outline]) -> HeightField:
    """Return the formed blank with the sheaths cut off along the trim cutter's paths.

    What is formed past them is waste, and needs no seat; locators and front mark stay.
    """
    inside = np.zeros(formed.z.shape, dtype=np.bool_)
    raised = formed.z > 0
    x, y = (axis[raised] for axis in formed.grid.mesh())
    for path in paths:
        inside[raised] |= shapely.contains_xy(path.polygon(FLATTEN), x, y)
    parts, _ = ndimage.label(raised)
    of_sheaths = np.unique(parts[inside])
    waste = raised & ~inside & np.isin(parts, of_sheaths)
    return formed.with_z(np.where(waste, 0.0, formed.z))


def _channels(
    paths: Sequence[Outline], width: float, slots: Sequence[Groove]
) -> list[shapely.Polygon]:
    """Return what is relieved: a channel of ``width`` mm along the paths, and under the slots."""
    rings = [shapely.LinearRing(path.flattened(FLATTEN)).buffer(width / 2) for path in paths]
    return rings + [shapely.LineString(slot.points).buffer(slot.width / 2) for slot in slots]


def _relieved(seat: HeightField, channels: Sequence[shapely.Polygon], floor: float) -> HeightField:
    """Return the seat cut down to ``floor`` mm inside channels."""
    grid = seat.grid
    z = seat.z.copy()
    for groove in channels:
        shapely.prepare(groove)
        x_min, y_min, x_max, y_max = groove.bounds
        i = slice(*np.searchsorted(grid.x, (x_min, x_max + grid.spacing)))
        j = slice(*np.searchsorted(grid.y, (y_min, y_max + grid.spacing)))
        x, y = np.meshgrid(grid.x[i], grid.y[j])
        part = z[j, i]
        np.minimum(part, floor, out=part, where=shapely.contains_xy(groove, x, y))
    return seat.with_z(z)
