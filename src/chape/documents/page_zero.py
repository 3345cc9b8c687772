"""The zero check: where the board's pins are, what to touch, and blanks for the readings."""

from __future__ import annotations

from math import atan2, degrees, hypot
from typing import TYPE_CHECKING, Any

from chape.documents import palette
from chape.documents.sketch import MEASURE, Pen, Sketch
from chape.documents.to_pdf import pdf_of
from chape.units import LengthUnit

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.tooling.model import Fixture

#: A pin may stand this far from its place where the workshop says nothing, mm.
PLACE_ALLOWED = 0.05
#: The board's top may fall this much from one corner to another, mm (common practice, no source).
LEVEL_ALLOWED = 0.05
#: Points on the board's top are touched this far in from the plate's edges, mm.
INSET = 20.0

STEPS = (
    (
        "Spindle off and locked out. Take the fixture off its pins; wipe board, pins and the "
        "probe or indicator clean."
    ),
    (
        "Call {offset}. All places below are in it: X and Y from the plate's front-left corner,"
        " Z from the plane the flanges lie in."
    ),
    (
        "Touch or indicate each line of the table, and write down what it reads. When a probe "
        "touches, its middle stands half its tip short of the face: allow for that half."
    ),
    (
        "If a reading is further off than allowed, set the zero anew from the first pin and the"
        " board's top, and take every reading again."
    ),
    (
        "Write the day, how it was done and how far it had moved in workshop.toml, under "
        "checked, method and drift."
    ),
)

HEAD = ("what", "move to", "touch", "should read", "within", "reads")


def zero_pdf(results: JobResults) -> bytes:
    """Return the page as PDF."""
    return pdf_of(
        "zero.typ", zero_page(results), {"board.svg": board_sketch(results)}, results.date
    )


def zero_page(results: JobResults) -> dict[str, Any]:
    """Return the data of the page."""
    fixture, numbered, unit = results.fixture, results.numbered, results.unit
    offset = next(p.setup.offset for p in results.programs if p.setup.name == "trim")
    machine = results.programs[0].setup.machine
    who = numbered.words if numbered is not None else f"the new fixture of {results.name}"
    allowed = numbered.drift_allowed if numbered is not None else PLACE_ALLOWED
    if numbered is None or numbered.checked is None:
        last = "never, as far as the workshop file says"
    else:
        by = f", by {numbered.by}" if numbered.by else ""
        method = f", {numbered.method}" if numbered.method else ""
        last = (
            f"{numbered.checked.isoformat()}{method}{by}; it had moved by "
            f"{_fine(numbered.drift, unit)}"
        )
    return {
        "paper": results.paper,
        "foot": f"{results.name}: zero check",
        "said": f"{fixture.board.title}, {offset} on {machine.title}, for {who}",
        "facts": [
            ["Fixture", who],
            ["Work offset", offset],
            ["Last checked", last],
            ["May have moved by", _fine(allowed, unit)],
            ["Next check", _due(results)],
        ],
        "steps": [words.format(offset=offset) for words in STEPS],
        "head": list(HEAD),
        "rows": [*_pin_rows(fixture, allowed, unit), *_board_rows(fixture, unit)],
        "pair": _pair(fixture, unit),
        "caution": "A spindle that starts while a hand or an indicator is in it does harm: lock it "
        "out first. Pins are hard and sharp; move down in small steps.",
    }


def _due(results: JobResults) -> str:
    numbered = results.numbered
    if numbered is None or numbered.checked is None:
        return "before the first run"
    return f"{numbered.check_every} days after that, or after any crash"


def _pin_rows(fixture: Fixture, allowed: float, unit: LengthUnit) -> list[list[str]]:
    radius = fixture.board.pin_diameter / 2
    rows = []
    for number, (x, y) in enumerate(fixture.board.pins, start=1):
        move = f"X {_fine(x, unit)}, Y {_fine(y, unit)}"
        rows.append(
            [f"Pin {number}", move, "sweep round it", "0, all round", _fine(allowed, unit), ""]
        )
        for face, axis, at in (
            ("left", "X", x - radius),
            ("right", "X", x + radius),
            ("front", "Y", y - radius),
            ("back", "Y", y + radius),
        ):
            reading = f"{axis} {_fine(at, unit)}"
            rows.append(["", "", f"{face} face", reading, _fine(allowed, unit), ""])
    return rows


def _board_rows(fixture: Fixture, unit: LengthUnit) -> list[list[str]]:
    level = f"Z {_fine(fixture.z_bottom, unit)}"
    corners = (
        ("front left", INSET, INSET),
        ("front right", fixture.width - INSET, INSET),
        ("back right", fixture.width - INSET, fixture.depth - INSET),
        ("back left", INSET, fixture.depth - INSET),
    )
    return [
        [
            "Board" if number == 0 else "",
            f"X {_fine(x, unit)}, Y {_fine(y, unit)}",
            f"top, {name}",
            level,
            _fine(LEVEL_ALLOWED, unit),
            "",
        ]
        for number, (name, x, y) in enumerate(corners)
    ]


def _pair(fixture: Fixture, unit: LengthUnit) -> list[list[str]]:
    """Return what the first two pins give together: a check that needs no zero."""
    (x1, y1), (x2, y2) = fixture.board.pins[:2]
    across, up = x2 - x1, y2 - y1
    diameter = fixture.board.pin_diameter
    return [
        ["Pin diameter", _fine(diameter, unit), "micrometer"],
        ["Over pins 1 and 2", _fine(hypot(across, up) + diameter, unit), "caliper"],
        ["Direction from 1 to 2", f"{degrees(atan2(up, across)):.2f}°", "from X"],
    ]


def board_sketch(results: JobResults) -> bytes:
    """Draw the board from above: plate, pins, zero and the four places on its top."""
    fixture = results.fixture
    board = Sketch.around(
        (0.0, 0.0, fixture.width, fixture.depth),
        92.0,
        (2.0, 2.0, 2.0, 2.0),
        title="The board from above",
    )
    ends = ((0.0, 0.0), (fixture.width, 0.0), (fixture.width, fixture.depth), (0.0, fixture.depth))
    for (x1, y1), (x2, y2) in zip(ends, (*ends[1:], ends[0]), strict=True):
        board.line(x1, y1, x2, y2, Pen(palette.INK, 0.35))
    for number, (x, y) in enumerate(fixture.board.pins, start=1):
        board.circle(
            x, y, fixture.board.pin_diameter / 2, Pen(palette.INK, 0.3, fill=palette.STEEL)
        )
        aside = 14.0 if x < fixture.width / 2 else -14.0
        board.text(x + aside, y, f"pin {number}")
    for x in (INSET, fixture.width - INSET):
        for y in (INSET, fixture.depth - INSET):
            board.line(x - 4, y, x + 4, y, MEASURE)
            board.line(x, y - 4, x, y + 4, MEASURE)
    board.circle(0.0, 0.0, 2.5, Pen(palette.COPPER, 0.5))
    board.text(0.0, 0.0, "zero", shift=(2.0, 2.6), anchor="start", colour=palette.COPPER)
    return board.svg()


def _fine(length: float, unit: LengthUnit) -> str:
    """Write a length as an indicator shows it: 0.001 mm or 0.0001 in."""
    if unit is LengthUnit.INCH:
        return f"{length / unit.in_mm:.4f} in"
    return f"{length:.3f} mm"
