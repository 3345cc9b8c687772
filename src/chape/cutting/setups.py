"""The four clampings of a job: mould from the top, mould from the back, fixture, trim.

A hole in a setup ends where the cutter's tip may go: a through hole ends a little below the
plate, a vent a little inside its back groove.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import CutterKind
from chape.cutting.choose import for_fillet
from chape.cutting.model import KeepOut, Setup
from chape.cutting.vents import OVERRUN, point_height, vents_from_back, vents_from_top
from chape.field.envelope import Body, dilate
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.model import Groove, RoundHole
from chape.tooling.reliefs import placed_slots

if TYPE_CHECKING:
    from chape.catalog.model import Cutter, Machine
    from chape.tooling.model import Fixture, Mould

#: No tip goes further below a plate than this: the table lies there, mm.
BELOW_MOST = 1.0

#: The mould's own work offset, unless another is given.
MOULD_OFFSET = "G54"


def mould_top(
    mould: Mould, machine: Machine, cutters: tuple[Cutter, ...], offset: str = MOULD_OFFSET
) -> Setup:
    """Return the first clamping of a mould: the formed surface, vents and dowel holes.

    Raises:
        CannotMakeError: no ball in the rack is small enough for the fillets.
    """
    surface = mould.surface
    vents = vents_from_top(mould, cutters)
    dowels = tuple(_through(dowel, mould.z_bottom, cutters) for dowel in mould.dowels)
    fillet = mould.layout.fillet * mould.scale
    return Setup(
        name="mould-top",
        title="Mould, first side: surface, vents and dowel holes",
        offset=offset,
        machine=machine,
        cutters=for_fillet(cutters, fillet),
        stock=HeightField.flat(surface.grid, mould.z_stock),
        target=surface,
        z_bottom=mould.z_bottom,
        holes=(*vents, *dowels),
        grooves=(),
        outlines=(),
        sheet_gauge=0.0,
        keep_outs=(),
        flipped=False,
        width=mould.width,
        depth=mould.depth,
    )


def mould_back(
    mould: Mould, machine: Machine, cutters: tuple[Cutter, ...], offset: str = MOULD_OFFSET
) -> Setup:
    """Return the second clamping of a mould, turned over left to right: the back grooves.

    The vents too, where no drill reaches through from the top. The level back is carried over a
    grid no finer than they need.
    """
    grid = mould.surface.grid
    _, y0, x1, _ = grid.bounds
    turned = Grid(mould.width - x1, y0, grid.spacing, grid.nx, grid.ny)
    level = HeightField.flat(turned, 0.0)
    grooves = tuple(
        Groove(
            groove.points * np.array([-1.0, 1.0]) + np.array([mould.width, 0.0]),
            groove.width,
            mould.z_bottom - groove.z_floor,
        )
        for groove in mould.grooves
    )
    return Setup(
        name="mould-back",
        title="Mould, second side: grooves, turned over left to right on its dowels",
        offset=offset,
        machine=machine,
        cutters=cutters,
        stock=level,
        target=level,
        z_bottom=mould.z_bottom - float(mould.surface.z.max()),
        holes=vents_from_back(mould, cutters),
        grooves=grooves,
        outlines=(),
        sheet_gauge=0.0,
        keep_outs=(),
        flipped=True,
        width=mould.width,
        depth=mould.depth,
    )


def fixture_setup(
    fixture: Fixture, machine: Machine, cutters: tuple[Cutter, ...], offset: str | None = None
) -> Setup:
    """Return the clamping of the trim fixture: seat, relief grooves, insert and pin holes.

    Raises:
        CannotMakeError: no ball in the rack is small enough for the seat's fillets.
    """
    # The seat lies inside the formed surface, so its hollow corners are rounder by the clearance.
    fillet = fixture.layout.fillet
    pins = tuple(_through(pin, fixture.z_bottom, cutters) for pin in fixture.pins)
    return Setup(
        name="fixture",
        title="Trim fixture: seat, relief grooves, insert and pin holes",
        offset=offset or fixture.board.offset,
        machine=machine,
        cutters=for_fillet(cutters, fillet),
        stock=HeightField.flat(fixture.surface.grid, fixture.z_stock),
        target=fixture.surface,
        z_bottom=fixture.z_bottom,
        holes=(*fixture.inserts, *pins),
        grooves=(*fixture.grooves, *fixture.slots),
        outlines=(),
        sheet_gauge=0.0,
        keep_outs=(),
        flipped=False,
        width=fixture.width,
        depth=fixture.depth,
    )


def trim_setup(
    fixture: Fixture,
    machine: Machine,
    cutters: tuple[Cutter, ...],
    offset: str | None = None,
    *,
    spring_pass: bool = True,
) -> Setup:
    """Return the clamping of the formed blank on its fixture: holes, then outlines.

    The blank is held at its corners; the other screws go in at the stop, through bored holes.
    """
    layout = fixture.layout
    gauge = float(layout.sheet.gauge.value)
    outer = dilate(layout.formed, replace(Body.ball(gauge), lift=gauge))
    screwed = set(fixture.screws)
    head = fixture.screw
    posts = tuple(
        KeepOut(
            x=insert.x,
            y=insert.y,
            radius=head.head_diameter.value / 2,
            z_top=gauge + head.head_height.value,
            after_stop=n in screwed,
        )
        for n, insert in enumerate(fixture.inserts)
    )
    flats = tuple(
        cutter
        for cutter in cutters
        if cutter.kind is not CutterKind.FLAT or cutter.diameter <= fixture.trim_cutter + 1e-6
    )
    return Setup(
        name="trim",
        title="Trim: holes, stop for the screws, outlines",
        offset=offset or fixture.board.offset,
        machine=machine,
        cutters=flats,
        stock=outer,
        target=fixture.surface,
        z_bottom=fixture.z_bottom,
        holes=_sheet_holes(fixture, outer),
        grooves=placed_slots(layout, 0.0, -OVERRUN),
        outlines=layout.patterns,
        sheet_gauge=gauge,
        keep_outs=posts,
        flipped=False,
        width=fixture.width,
        depth=fixture.depth,
        spring_pass=spring_pass,
    )


def _sheet_holes(fixture: Fixture, outer: HeightField) -> tuple[RoundHole, ...]:
    """Return every hole of every part, through the sheet and a little into the seat."""
    holes = []
    angles = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    ring = np.column_stack([np.cos(angles), np.sin(angles)])
    for part in fixture.layout.parts:
        place = part.place
        for hole in fixture.layout.piece_of(part).holes:
            x, y = hole.u, hole.v
            for _ in range(place.quarter_turns % 4):
                x, y = -y, x
            x, y = x + place.x, y + place.y
            around = np.vstack([[[x, y]], np.array([x, y]) + hole.diameter / 2 * ring])
            # The sheet's inside, not the seat: an insert hole below the sheet is no reason to
            # go deeper.
            inside = float(fixture.layout.formed.at(around).min())
            top = float(outer.at(around).max())
            holes.append(RoundHole(x, y, hole.diameter, top, inside - OVERRUN, hole.use.value))
    return tuple(holes)


def _through(hole: RoundHole, z_bottom: float, cutters: tuple[Cutter, ...]) -> RoundHole:
    """Return a hole that ends below the plate if it goes through, as it is if not."""
    if hole.z_bottom > z_bottom + 1e-6:
        return hole
    point = point_height(cutters, hole.diameter)
    # A larger drill would come out too far into the table: the hole is bored instead.
    below = OVERRUN + (point if OVERRUN + point <= BELOW_MOST else 0.0)
    return replace(hole, z_bottom=z_bottom - below)
