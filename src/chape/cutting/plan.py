"""From a setup to its program: which passes, with which cutters, in which order.

Plates are roughed, grooved, finished, then drilled and bored. Sheet is bored while its corners
hold it; then the program stops for the screws, and the outlines are cut, the parts' own holes
being done.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.catalog.model import CutterKind
from chape.catalog.read import catalog
from chape.cutting.ball import Ball
from chape.cutting.bore import bore
from chape.cutting.choose import (
    finishing_cutters,
    hole_cutter,
    require_reach,
    roughing_cutter,
    slot_cutter,
)
from chape.cutting.drill import Tool, drill
from chape.cutting.finish import finish
from chape.cutting.gentle import cut_gentle
from chape.cutting.groove import cut_grooves, without_grooves
from chape.cutting.ground import Ground
from chape.cutting.left import Standing
from chape.cutting.levels import deep_levels, hill_levels, level_hills
from chape.cutting.link import safe_height
from chape.cutting.model import Operation, OperationKind, Program
from chape.cutting.outline import Under, cut_outlines
from chape.cutting.pace import Flat
from chape.cutting.rates import rates_for
from chape.cutting.rough import Free, rough
from chape.cutting.slot import cut_slots
from chape.errors import CannotMakeError
from chape.field.envelope import Body

if TYPE_CHECKING:
    from collections.abc import Callable

    from chape.catalog.model import Cutter
    from chape.cutting.link import Track
    from chape.cutting.model import Setup
    from chape.field.heights import HeightField
    from chape.tooling.model import Groove, RoundHole

    Progress = Callable[[str, float], None]

#: Names in the catalogue of what plates and sheets are taken for where a setup does not say.
PLATE, SHEET = "HDPE", "acrylic-PVC"

#: Stock this near to the target is not cut, mm.
NOTHING = 0.01

#: A smaller ball follows where so much is left, mm, on so much of the surface, mm²: it is a change
#: of cutters.
LEFT_BY_LARGER = 0.1
WORTH_ANOTHER = 5.0

#: After finishing, this much may stand beside what was aimed at, for the sake of safe ways, mm.
LEFT_BESIDE = 1.2


def plan_program(setup: Setup, progress: Progress | None = None) -> Program:
    """Return the program of a setup.

    Args:
        setup: the clamping.
        progress: told what is being planned, and the share done, 0 to 1.

    Raises:
        CannotMakeError: no cutter fits or reaches, a screw head stands in the way, or nothing is
            to be cut.
    """
    tell = progress or (lambda _what, _share: None)
    planner = _Planner(setup)
    operations = _trim(planner, tell) if setup.outlines else _plate(planner, tell)
    kept = tuple(operation for operation in operations if len(operation.moves.motion))
    if not kept:
        raise CannotMakeError(
            f"{setup.name}: the stock is already as it should be, there is nothing to cut",
            mend="Give the stock an allowance",
        )
    tell("done", 1.0)
    return Program(setup, kept)


class _Planner:
    """What every operation of a setup shares."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.sheet = setup.sheet_gauge > 0
        self.material = setup.material or catalog().material(SHEET if self.sheet else PLATE)
        self.safe = safe_height(setup)
        self.ground = Ground(setup.stock)
        #: Where the last operation ended, mm.
        self.here = (0.0, 0.0)
        self.put_in(after_stop=False)

    def put_in(self, *, after_stop: bool) -> None:
        """Let screws stand on the ground, so that ways across pass above their heads."""
        for post in self.setup.keep_outs:
            if post.after_stop is after_stop:
                self.ground.stand(post.x, post.y, post.radius, post.z_top)

    def tool(self, cutter: Cutter) -> Tool:
        """Return the cutter with its rates."""
        return Tool(cutter, rates_for(cutter, self.material, self.setup.machine))

    def operation(
        self,
        kind: OperationKind,
        title: str,
        tool: Tool,
        track: Track,
        standing: HeightField | None = None,
        *,
        stop: str = "",
    ) -> Operation:
        """Return a track as an operation, once its cutter is known to reach."""
        moves = track.moves()
        if standing is not None:
            require_reach(tool.cutter, moves, standing, title)
        spindle = tool.rates.spindle
        if len(moves.end):
            self.here = (float(moves.end[-1, 0]), float(moves.end[-1, 1]))
        return Operation(
            kind, title, tool.cutter, spindle, moves, bool(stop), stop, rapid_saved=track.saved
        )

    def holes(self, standing: HeightField | None) -> list[Operation]:
        """Drill and bore every hole, cutter by cutter in the rack's order."""
        by_cutter: dict[int, tuple[Cutter, list[RoundHole]]] = {}
        for hole in self.setup.holes:
            cutter = hole_cutter(
                self.setup.cutters, hole, sheet=self.sheet, underside=self.setup.z_bottom
            )
            by_cutter.setdefault(cutter.number, (cutter, []))[1].append(hole)
        operations = []
        for _, (cutter, found) in sorted(by_cutter.items()):
            tool = self.tool(cutter)
            uses = ", ".join(sorted({hole.use for hole in found}))
            if cutter.kind is CutterKind.DRILL:
                track = drill(
                    tuple(found),
                    tool,
                    self.ground,
                    self.safe,
                    start=self.here,
                    underside=self.setup.z_bottom,
                )
                kind, title = OperationKind.DRILL, f"Drill {len(found)} holes: {uses}"
            else:
                track = bore(tuple(found), tool, self.ground, self.safe, start=self.here)
                kind, title = OperationKind.BORE, f"Bore {len(found)} holes: {uses}"
            operations.append(self.operation(kind, title, tool, track, standing))
        return operations

    def slots(self, kind: OperationKind, what: str) -> list[Operation]:
        """Cut grooves, or slots in sheet, width by width."""
        operations = []
        before = self.ground.field
        for width in sorted({groove.width for groove in self.setup.grooves}, reverse=True):
            grooves = tuple(g for g in self.setup.grooves if g.width == width)
            cutter = slot_cutter(
                self.setup.cutters, width, _deepest(grooves, before), what, sheet=self.sheet
            )
            tool = self.tool(cutter)
            make = cut_slots if kind is OperationKind.SLOT else cut_grooves
            track = make(grooves, tool, self.ground, self.safe, start=self.here)
            title = f"Cut {len(grooves)} {what}s of {width:g} mm"
            operations.append(self.operation(kind, title, tool, track, before))
        return operations


def _deepest(grooves: tuple[Groove, ...], standing: HeightField) -> float:
    return max(float(standing.at(g.points).max()) - g.z_floor for g in grooves)


def _plate(planner: _Planner, tell: Progress) -> list[Operation]:
    setup, ground = planner.setup, planner.ground
    surface = without_grooves(setup.target, setup.grooves)
    shaped = bool(np.any(setup.stock.z > surface.z + NOTHING))
    operations: list[Operation] = []
    standing: Standing | None = None
    if shaped:
        tell("roughing", 0.05)
        standing, operations = _rough(planner, surface)
    tell("grooves", 0.35)
    grooves = planner.slots(OperationKind.GROOVE, "groove")
    operations.extend(grooves)
    if standing is not None:
        for cut in grooves:
            standing.cut([cut.moves.end], Body.flat(cut.cutter.radius))
        tell("finishing", 0.45)
        operations.extend(_finish(planner, standing))
        ground.lower_to(surface, LEFT_BESIDE)
    tell("holes", 0.9)
    operations.extend(planner.holes(surface if shaped else ground.field))
    return operations


def _rough(planner: _Planner, surface: HeightField) -> tuple[Standing, list[Operation]]:
    """Return what the flat cutter leaves, and its cuts: deep levels, gentle ground, hills."""
    setup, ground, safe = planner.setup, planner.ground, planner.safe
    tool = planner.tool(roughing_cutter(setup.cutters))
    flat = Flat(tool.cutter.radius, tool.rates)
    top = float(ground.z.max())
    deep = deep_levels(surface, top, tool.rates.depth)
    free = Free.over(surface, flat.radius)
    standing, body = Standing(surface, ground), Body.flat(flat.radius)
    track = rough(free, ground, flat, safe, [*deep, *level_hills(surface, deep, top)])
    # The ground's own nodes are coarse: beside a wall they would have the ball cut air.
    standing.cut([track.moves().end], body)
    operations = [
        planner.operation(OperationKind.ROUGH, "Rough, level by level", tool, track, ground.field)
    ]
    track = cut_gentle(standing, ground, flat, setup.scallop, safe)
    title = "Finish gentle ground with the flat cutter"
    operations.append(planner.operation(OperationKind.FINISH, title, tool, track, ground.field))
    track = rough(free, ground, flat, safe, hill_levels(deep, top))
    title = "Rough what stands high on hills"
    operations.append(planner.operation(OperationKind.ROUGH, title, tool, track, ground.field))
    standing.cut([track.moves().end], body)
    return standing, operations


def _finish(planner: _Planner, standing: Standing) -> list[Operation]:
    """Return creases, contours and rings, ball by ball; none where nothing is left to do."""
    operations: list[Operation] = []
    before = planner.ground.field
    for cutter in finishing_cutters(planner.setup.cutters):
        rest = float((standing.left() > LEFT_BY_LARGER).sum()) * standing.surface.grid.spacing**2
        if rest < WORTH_ANOTHER if operations else not np.any(standing.left() > NOTHING):
            break
        what = "Pick out what is left" if operations else "Finish"
        tool = planner.tool(cutter)
        ball = Ball(cutter.radius, tool.rates, planner.setup.scallop)
        titles = (
            f"{what} along creases",
            f"{what} on steep walls, in contours",
            f"{what} on shallow ground, in rings",
            f"{what} where much stands yet, in close rings",
            f"{what} at the last places, in the closest rings",
        )
        tracks = finish(standing, planner.ground, ball, planner.safe)
        operations.extend(
            planner.operation(OperationKind.FINISH, title, tool, track, before)
            for title, track in zip(titles, tracks, strict=True)
            if len(track.moves().motion)
        )
    return operations


def _trim(planner: _Planner, tell: Progress) -> list[Operation]:
    setup = planner.setup
    standing = planner.ground.field
    tell("holes", 0.1)
    operations = planner.holes(standing)
    operations.extend(planner.slots(OperationKind.SLOT, "slot"))
    tell("outlines", 0.4)
    planner.put_in(after_stop=True)
    # Half way down the relief groove: through the sheet, clear of the fixture.
    floor = min(float(setup.target.z.min()), -NOTHING)
    cutter = slot_cutter(setup.cutters, np.inf, _along_outlines(setup), "the cut", sheet=True)
    tool = planner.tool(cutter)
    track = cut_outlines(
        setup.outlines,
        Under(setup.target, floor / 2),
        tool,
        planner.ground,
        setup.keep_outs,
        planner.safe,
        spring=setup.spring_pass,
        start=planner.here,
    )
    screws = sum(post.after_stop for post in setup.keep_outs)
    stop = f"Put {screws} screws in through the bored holes, then start again" if screws else ""
    title = f"Cut {len(setup.outlines)} outlines"
    operations.append(
        planner.operation(
            OperationKind.OUTLINE, title, tool, track, planner.ground.field, stop=stop
        )
    )
    return operations


def _along_outlines(setup: Setup) -> float:
    """Return the deepest cut along the outlines, mm."""
    floor = min(float(setup.target.z.min()), -NOTHING) / 2
    # Along a straight edge, too, not only at its ends.
    ways = [shapely.segmentize(part.polygon().exterior, 1.0) for part in setup.outlines]
    tops = [float(setup.stock.at(shapely.get_coordinates(way)).max()) for way in ways]
    return max(tops) - floor
