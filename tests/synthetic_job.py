"""A whole job made up from the contracts alone, so that documents can be tested by themselves.

The knife and its sheath are only roughly shaped; nothing here is worked out as chape would.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.affinity

import synthetic_fit
from chape.catalog.read import catalog
from chape.cutting.check_load import CutterLoad
from chape.cutting.model import KeepOut, PlanFigures, Setup
from chape.documents.model import CheckedProgram, JobResults
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.outline import Outline
from chape.findings import Finding, Severity
from chape.forming.form import form
from chape.forming.model import Forming, FormingChoices, Mounted
from chape.knife.model import Edges, Knife
from chape.sheath.model import Fold, Hole, HoleUse, Piece, Sheath, SheathChoices
from chape.sheath.placed_clip import PlacedClip, PlanProof
from chape.tooling.model import (
    BlankChoices,
    Dummy,
    Fixture,
    Groove,
    Layout,
    Mould,
    Part,
    Placement,
    RoundHole,
)
from chape.units import LengthUnit
from whole import remade, whole

if TYPE_CHECKING:
    from chape.field.grid import Floats

KNIFE_POINTS = [
    (0, 2), (14, -7), (34, -13), (70, -15), (112, -15), (115, -21), (121, -21), (124, -14),
    (150, -11), (170, -13), (200, -15), (222, -18), (230, -13), (230, 3), (224, 8), (190, 8),
    (150, 8), (122, 9), (121, 13), (115, 13), (114, 9), (60, 9), (20, 7),
]  # fmt: skip
GAUGE = 2.0
#: Of every grid: coarse, for nothing here hangs on the shape.
SPACING = 1.0
MOUTH = 157.0


def _depth_inside(polygon: shapely.Polygon, x: Floats, y: Floats) -> Floats:
    """Distance to the outline, positive inside."""
    points = shapely.points(x.ravel(), y.ravel())
    distance = shapely.distance(points, polygon.exterior)
    return np.where(shapely.contains(polygon, points), distance, -distance).reshape(x.shape)


def knife(name: str = "Alder camp knife", spacing: float = SPACING) -> Knife:
    outline = shapely.Polygon(KNIFE_POINTS).buffer(1.5).buffer(-1.5)
    grid = Grid.over(-4, -28, 236, 20, spacing)
    x, y = grid.mesh()
    inside = _depth_inside(outline, x, y)
    blade = np.clip(inside * 0.16, 0, 2.0)
    handle = 9.0 * np.clip(1 - np.clip(1 - inside / 9, 0, 1) ** 2.5, 0, 1)
    half = np.where(x < 115, blade, handle) * (inside > 0)
    below = outline.intersection(shapely.box(-1, -30, 113, 20))
    band = shapely.MultiPolygon([below.difference(shapely.affinity.translate(below, 0, 4))])
    return Knife(
        name, outline, HeightField(grid, half), band, Edges.SINGLE, 115.0, 0.1,
        "caliper stations", date(2026, 3, 4),
    )  # fmt: skip


def _rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Outline:
    b = float(np.tan(np.pi / 8))
    points = [
        (x0 + r, y0), (x1 - r, y0), (x1, y0 + r), (x1, y1 - r),
        (x1 - r, y1), (x0 + r, y1), (x0, y1 - r), (x0, y0 + r),
    ]  # fmt: skip
    return Outline(np.array(points, float), np.array([0, b] * 4))


def sheath(name: str = "Alder, right hand", knife_name: str = "Alder camp knife") -> Sheath:
    blade = knife(knife_name)
    parts = catalog()
    grid = Grid.over(-12, -42, 172, 20, SPACING)
    x, y = grid.mesh()
    inside = _depth_inside(blade.outline, x, y)
    top = np.where(x < 112, 2.5, np.minimum(9.3, 2.5 + 1.5 * (x - 112)))
    cavity = np.clip((inside + 2.6) * 5.0, 0, top)
    line = 16.0
    stations = np.linspace(-12, 172, 93)
    height = 3.0 + 6.0 / (1 + np.exp(-(stations - 116) / 5))
    fold = Fold(line, stations, height, line - np.pi / 2 * (height + 0.4 * GAUGE), 0.4, GAUGE)
    flat_grid = Grid.over(-12, -58, 172, 58, SPACING)
    u, v = flat_grid.mesh()
    front = line - np.abs(v)
    samples = np.column_stack([u.ravel(), front.ravel()])
    formed = HeightField(grid, cavity).at(samples).reshape(u.shape)
    strip = np.interp(u, stations, height)
    formed = np.maximum(
        formed,
        np.clip(
            strip - 3 * np.maximum(np.abs(v) - (line - np.interp(u, stations, fold.end)), 0),
            0,
            None,
        ),
    )
    eyelet = parts.eyelet("eyelet-6.4")
    flange = eyelet.flange.value / 2 + 1
    holes = [
        Hole(at, side * 40.0, eyelet.hole.value, HoleUse.EYELET, flange)
        for at in (6, 38, 70, 102, 128, 150)
        for side in (-1, 1)
    ]
    holes.append(Hole(-4, 14, 5.0, HoleUse.DRAIN, 3.0))
    choices = SheathChoices(name=name, knife="alder.toml")
    return Sheath(
        choices, blade, parts.sheet("acrylic-pvc-2.0"), eyelet, _clips(line),
        HeightField(grid, cavity), HeightField(grid, cavity), fold,
        (
            Piece(
                "sheath", HeightField(flat_grid, formed), _rounded(-10, -47, MOUTH, 47, 9.0),
                tuple(holes),
            ),
        ),
        MOUTH,
        PlanProof(6, 6, 64.0, 120.0, 80.0),
    )  # fmt: skip


def _clips(line: float) -> tuple[PlacedClip, ...]:
    """Two clips on holes of the back half: one the same on either hand, one that is not."""
    loop = catalog().clip("riveted-loop-2").model_copy(update={"holes": ((0.0, 0.0), (32.0, 0.0))})
    other = np.array([[102.0, line - 40.0], [70.0, line - 40.0]])
    points = np.array([[70.0, line - 40.0], [38.0, line - 40.0]])
    return (
        PlacedClip(loop, "back", 0.0, points, None, 0.0, 4.0),
        PlacedClip(loop, "front", 5.0, points, other, 0.12, 24.0),
    )


def layout(made: Sheath) -> Layout:
    blank = BlankChoices(copies=2)
    places = (Placement(90, 70, 1), Placement(210, 70, 1))
    grid = Grid.over(0, 0, 300, 300, SPACING)
    x, y = grid.mesh()
    z = np.zeros(grid.shape)
    for place in places:
        u, v = (y - place.y), -(x - place.x)
        on = (u > -11) & (u < 170) & (np.abs(v) < 57)
        z[on] = np.maximum(z[on], whole(made).formed.at(np.column_stack([u[on], v[on]])))
    locators = tuple((a, b, 4.0, 3.0) for a in (16.0, 284.0) for b in (16.0, 284.0))
    for cx, cy, r, h in locators:
        z = np.maximum(z, np.clip((r - np.hypot(x - cx, y - cy)) * 4, 0, h))
    outlines = (whole(made).pattern.moved(p.x, p.y, p.quarter_turns) for p in places)
    pieces = tuple(Part(0, 0, *both) for both in zip(places, outlines, strict=True))
    return Layout((made,), blank, pieces, HeightField(grid, z), locators)


def mould(placed: Layout) -> Mould:
    vents = tuple(
        RoundHole(float(x), float(y), 1.0, 0, -22, "vent")
        for x in (42, 138, 162, 258) for y in range(70, 231, 20)
    )  # fmt: skip
    grooves = tuple(Groove(np.array([(x, 60.0), (x, 240.0)]), 3.0, -22) for x in (42.0, 138.0))
    dowels = (RoundHole(10, 150, 8, 0, -25, "dowel"), RoundHole(290, 150, 8, 0, -25, "dowel"))
    return Mould(
        placed, placed.formed.scaled(1.004), 300, 300, -25, 11.5, vents, grooves, dowels, 1.004
    )


def fixture(placed: Layout) -> Fixture:
    parts = catalog()
    grid = placed.formed.grid
    seat = placed.formed.with_z(np.maximum(placed.formed.z - 0.2, 0))
    x, y = grid.mesh()
    z = seat.z.copy()
    for pattern in placed.patterns:
        ring = shapely.LinearRing(pattern.flattened(0.05))
        near = shapely.distance(shapely.points(x.ravel(), y.ravel()), ring).reshape(x.shape)
        z[near < 4.5] = -2.0
    inserts = tuple(
        RoundHole(float(cx), float(cy), 8.0, 0, -12, "insert")
        for cx, cy in [(50, 76), (130, 76), (50, 198), (130, 198), (170, 76), (250, 76), (170, 198),
                       (250, 198), (12, 30), (288, 30), (12, 270), (288, 270)]
    )  # fmt: skip
    board = parts.board("board-300")
    pins = tuple(RoundHole(a, b, board.pin_diameter, -15, -25, "pin") for a, b in board.pins)
    return Fixture(
        layout=placed, surface=seat.with_z(z), seat=seat, width=300, depth=300, z_bottom=-25,
        z_stock=11.5, inserts=inserts, pins=pins, reliefs=(), trim_paths=placed.patterns,
        screws=tuple(range(8)), screw=parts.screw("screw-m6-button"), board=board,
    )  # fmt: skip


def dummy(blade: Knife) -> Dummy:
    return Dummy(blade.half.with_z(np.maximum(blade.half.z - 0.2, 0)), 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class StandInVerdict:
    """The parts of the checker's verdict that documents read."""

    findings: tuple[Finding, ...]
    leftover: HeightField
    gouge_most: float
    leftover_most: float
    seconds: float
    cutter_seconds: tuple[tuple[int, float], ...]
    hashes: tuple[str, ...]
    released: bool
    at_full_speed: float = 2400.0
    change_seconds: float = 240.0
    loads: tuple[CutterLoad, ...] = (
        CutterLoad(1, 18000.0, 3000.0, 0.15, 339.0, 5.9, 106.0, 0.056, 59.0, 30.0, 0.031),
    )


PROGRAM = """%
G21 G90 G17
G54
T1 M6 (6 mm flat)
S18000 M3
G0 X0 Y0
G1 Z-1 F800
G1 X10 F3000
M5
M0 (put in the screws)
T2 M6
S20000 M3
G1 X20 F2400
M5
M30
%
"""


def _program(
    name: str, title: str, offset: str, stock: float, target: HeightField, **more: object
) -> CheckedProgram:
    parts = catalog()
    text = PROGRAM.replace("G54", offset)
    setup = Setup(
        name, title, offset, parts.machine("router-600"), parts.rack("rack-6").cutters,
        HeightField.flat(target.grid, stock), target, -25.0, (), (),
        **{"outlines": (), "sheet_gauge": 0.0, "keep_outs": (), "flipped": False,
           "width": 300.0, "depth": 300.0, **more},
    )  # fmt: skip
    slope_y, slope_x = np.gradient(target.z, target.grid.spacing)
    left = np.minimum(0.004 + 0.08 * np.hypot(slope_x, slope_y), 2.0)
    verdict = StandInVerdict(
        (), HeightField(target.grid, left), 0.004, float(left.max()), 3120.0,
        ((1, 1900.0), (2, 1220.0)), (sha256(text.encode()).hexdigest(),), released=True,
    )  # fmt: skip
    return CheckedProgram(setup, (text,), verdict, PlanFigures(1500.0, 2400.0))


FINDINGS = (
    Finding(
        "edge-clearance-low", Severity.ERROR, "cavity, x = 42 mm",
        "The edge comes closer to the wall than asked.", "Widen clearance.side.", 0.71, 1.2,
    ),
    Finding(
        "vent-pitch-wide", Severity.NOTE, "mould, vents", "Two vents stand far apart.",
        "Lower vent_pitch_most.", 25.5, 25.0,
    ),
    Finding(
        "screws-few", Severity.WARNING, "fixture", "Fewer than four screws hold each sheath.",
        "Ask for four.", 2, 4, "",
    ),
)  # fmt: skip


@cache
def parts() -> tuple[Sheath, Layout, Mould, Fixture, Dummy]:
    """Everything but the words, made once for all tests."""
    made = sheath()
    placed = layout(made)
    return made, placed, mould(placed), fixture(placed), dummy(made.knife)


@cache
def forming() -> Forming:
    """Worked out in earnest: too much hangs together in it to be made up."""
    made, placed, block, _, _ = parts()
    mounted = Mounted(
        block.surface, 8.0, 25.0, catalog().material("HDPE"), 40, 1.0, 8.0,
        placed.copies, block.scale,
    )  # fmt: skip
    return form(made, mounted, FormingChoices(), catalog())


def job(
    name: str = "Alder, right hand",
    findings: tuple[Finding, ...] = FINDINGS,
    unit: LengthUnit = LengthUnit.MM,
    day: date | None = None,
    paper: str = "a4",
    pattern: Outline | None = None,
) -> JobResults:
    made, placed, form, trim, blunt = parts()
    if pattern is not None:
        made = remade(made, pattern=pattern)
    heads = tuple(
        KeepOut(hole.x, hole.y, 5.5, 8.0, index in trim.screws)
        for index, hole in enumerate(trim.inserts)
    )
    back = HeightField.flat(form.surface.grid, 0.0)
    programs = (
        _program("mould-top", "Mould, top", "G54", 11.5, form.surface),
        _program("mould-back", "Mould, back", "G54", 0.0, back, flipped=True),
        _program("fixture", "Trim fixture", "G55", 11.5, trim.surface),
        _program("trim", "Trim", "G55", 2.0, trim.surface, sheet_gauge=2.0,
                 outlines=placed.patterns, keep_outs=heads),
    )  # fmt: skip
    return JobResults(
        name, made.knife, made, placed, form, trim, blunt, synthetic_fit.fit(), forming(),
        programs, findings, unit, day,
        paper,
    )  # fmt: skip
