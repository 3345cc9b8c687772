"""What one program's page says: how the piece is held, the zero, cutters, steps and cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.cutting.bound import least_time
from chape.documents.cautions import machine_cautions
from chape.documents.program_words import cutter_calls, feed_unit, restarts, stops
from chape.findings import errors
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from chape.cutting.check import Verdict
    from chape.cutting.model import Setup
    from chape.documents.model import CheckedProgram, JobResults

#: A pound-force in newtons (0.45359237 kg x 9.80665 m/s², exactly).
NEWTONS_PER_POUND = 4.4482216152605

LOAD_HEAD = (
    "T",
    "a tooth takes",
    "surface",
    "deepest",
    "power",
    "torque",
    "pushes",
    "lifts",
    "bends",
)

CUTTER_HEAD = ("T", "cutter", "diameter", "tip to holder", "spindle", "feed", "time")

#: The checker calls anything deeper a gouge; shallower scratches are shown as none.
SHALLOW = 0.0005

#: A shorter way saved between cuts is not worth a line, mm.
WORTH_SAYING = 100.0


def setup_page(program: CheckedProgram, results: JobResults) -> dict[str, Any]:
    """Return the data of one setup page."""
    setup, verdict, unit = program.setup, program.verdict, results.unit
    top = float(setup.stock.z.max())
    title, _, more = setup.title.partition(":")
    machine = f"{program.files} on {setup.machine.title}, offset {setup.offset}"
    facts = [
        ["Work offset", setup.offset, _board_words(setup, results)],
        ["Piece", size_words((setup.width, setup.depth), unit)],
        ["Top of stock", f"Z\u00a0{_long(top, unit)}", "above Z 0"],
        ["Underside", f"Z\u00a0{_long(setup.z_bottom, unit)}"],
        ["Time", time_words(verdict.seconds), _bound_words(verdict)],
        *_least_words(program),
        *_held(setup, unit),
        *_order_words(program.planned.rapid_saved, unit),
        ["Stops", str(stops(program.texts)) if stops(program.texts) else "none"],
        ["Deepest gouge", _gouge_words(verdict.gouge_most, unit)],
    ]
    return {
        "title": title[:1].upper() + title[1:],
        "said": f"{more.strip().capitalize()}. {machine}" if more else machine,
        # One error anywhere holds every program of the job back.
        "released": not errors(results.findings),
        "facts": facts,
        "picture": f"leftover-{setup.name}.svg",
        "picture-said": "Material still standing above the wanted surface, as the checker found it "
        "from the program's text; at most "
        f"{_long(verdict.leftover_most, unit)} where cutters reach.",
        "steps": _steps(setup, program, results),
        "cutter-head": list(CUTTER_HEAD),
        "cutters": _cutters(program, unit),
        "load-head": list(LOAD_HEAD),
        "loads": _loads(program, unit),
        "cautions": [str(words) for words in machine_cautions(setup)],
    }


def time_words(seconds: float) -> str:
    """Write a time as the bench reads it: "48 s", "12 min", "1 h 05 min"."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def size_words(sizes: tuple[float, ...], unit: LengthUnit) -> str:
    """Write the sizes of a plate without needless decimals: "300 × 300 × 36.5 mm"."""
    words = [show_length(size, unit).split() for size in sizes]
    plain = [
        number.rstrip("0").rstrip(".") if unit is LengthUnit.MM else number for number, _ in words
    ]
    return f"{' × '.join(plain)} {words[0][1]}"


def _order_words(saved: float, unit: LengthUnit) -> list[list[str]]:
    """Say how much way the order of cuts saves, if it is worth a word: metres, or feet."""
    if saved < WORTH_SAYING:
        return []
    way = f"{saved / 304.8:.1f} ft" if unit is LengthUnit.INCH else f"{saved / 1000:.2f} m"
    return [["Order of cuts", f"saves {way}", "of rapids"]]


def _least_words(program: CheckedProgram) -> list[list[str]]:
    """Return how the time of a plate's surfaces stands to the least there can be."""
    bound = least_time(program.setup)
    if bound is None:
        return []
    spent = program.planned.surface_seconds
    if not spent:
        return []
    times = (
        f"{spent / bound.seconds:.1f} times the {time_words(bound.seconds)} of cutting alone, "
        f"{spent / bound.with_stops:.1f} times that with stops"
    )
    return [["Surfaces", time_words(spent), times]]


def _bound_words(verdict: Verdict) -> str:
    """Return what the way alone would take, and the cutter changes."""
    words = f"{time_words(verdict.at_full_speed)} at full speed"
    if verdict.change_seconds > 0:
        words += f"; changes {time_words(verdict.change_seconds)} more"
    return words


def _held(setup: Setup, unit: LengthUnit) -> list[list[str]]:
    """Return what is cut, for which fixture, and what holds it."""
    rows = []
    if setup.fixture:
        rows.append(["For", setup.fixture])
    if setup.material is not None:
        rows.append(["Material", setup.material.title])
    if setup.grip is not None:
        rows.append(["Pressed down with", _force(setup.grip.clamp, unit)])
    return rows


def _force(newtons: float, unit: LengthUnit) -> str:
    if unit is LengthUnit.INCH:
        return f"{newtons / NEWTONS_PER_POUND:.0f} lbf"
    return f"{newtons:.0f} N"


def _bent(length: float, unit: LengthUnit) -> str:
    if unit is LengthUnit.INCH:
        return f"{length / unit.in_mm:.4f} in"
    return f"{length:.3f} mm"


def _loads(program: CheckedProgram, unit: LengthUnit) -> list[list[str]]:
    """Return the hardest work of each cutter, at most."""
    inch = unit is LengthUnit.INCH
    rows = []
    for load in program.verdict.loads:
        tooth = f"{load.tooth_load / unit.in_mm:.4f} in" if inch else f"{load.tooth_load:.3f} mm"
        speed = load.surface_speed / 0.3048 if inch else load.surface_speed
        drill = load.force == 0
        rows.append(
            [
                f"T{load.number}",
                tooth,
                f"{speed:.0f} {'ft' if inch else 'm'}/min",
                _long(load.depth, unit),
                f"{load.power:.0f} W",
                f"{load.torque:.2f} N m",
                "–" if drill else _force(load.force, unit),
                "–" if drill else _force(load.lift, unit),
                "–" if drill else _bent(load.bending, unit),
            ]
        )
    return rows


def _cutters(program: CheckedProgram, unit: LengthUnit) -> list[list[str]]:
    rack = {cutter.number: cutter for cutter in program.setup.cutters}
    seconds = dict(program.verdict.cutter_seconds)
    per = feed_unit(program.texts)
    rows: list[list[str]] = []
    for call in cutter_calls(program.texts):
        cutter = rack.get(call.number)
        spent = seconds.pop(call.number, None)
        called = any(row[0] == f"T{call.number}" for row in rows)
        rows.append(
            [
                f"T{call.number}",
                cutter.name if cutter else "not in the rack",
                _long(cutter.diameter, unit) if cutter else "–",
                _long(cutter.stick_out, unit) if cutter else "–",
                "–" if call.spindle is None else f"{call.spindle:.0f} /min",
                feed_words(call.feed_least, call.feed_most, per),
                "in the first" if called else "–" if spent is None else time_words(spent),
            ]
        )
    return rows


def feed_words(least: float | None, most: float | None, per: str) -> str:
    """Return the span of feeds a cutter is used with."""
    if least is None or most is None:
        return "–"
    slow, fast = (f"{round(feed, 1):g}" if feed < 100 else f"{feed:.0f}" for feed in (least, most))
    return f"{fast} {per}" if slow == fast else f"{slow}–{fast} {per}"


def _steps(setup: Setup, program: CheckedProgram, results: JobResults) -> list[str]:
    unit = results.unit
    top = float(setup.stock.z.max())
    thickness = top - setup.z_bottom
    plate = size_words((setup.width, setup.depth, thickness), unit)
    if setup.sheet_gauge > 0:
        steps = _trim_steps(setup, results)
    elif setup.flipped:
        steps = [
            "Lift the plate, turn it over left to right, and set it back on the flip dowels "
            f"({len(results.mould.dowels)} × ø {_long(results.mould.dowels[0].diameter, unit)})."
            if results.mould.dowels
            else "Turn the plate over left to right against the same front-left corner.",
            "Clear every chip from under it first; a chip tilts the plate.",
            *([] if setup.grip is None else [f"Hold it: {setup.grip.words}."]),
        ]
    else:
        by = "" if setup.grip is None else f" ({setup.grip.words})"
        steps = [f"Hold down a plate of {plate}, flat and clear of every cut{by}."]
    zero = "the underside, which faces up" if setup.flipped else "the plane the flanges lie in"
    steps.append(
        f"Zero {setup.offset}: X and Y at the front-left corner, Z at {zero}; "
        f"the top of the stock then reads Z\u00a0{_long(top, unit)}."
    )
    if not setup.machine.tool_changer and len(program.texts) == 1:
        steps.append(
            "This machine stops at each cutter: change it, then set its length before going on."
        )
    steps.append(_run_words(program))
    if setup.sheet_gauge > 0 and any(post.after_stop for post in setup.keep_outs):
        count = sum(post.after_stop for post in setup.keep_outs)
        steps.append(
            "When it stops, with the spindle still: put the screws through the bored eyelet holes "
            f"({count} × {results.fixture.screw.title}), "
            "snug by hand, then go on. The outlines are cut last."
        )
    return [*steps, *_restart_words(program)]


def _restart_words(program: CheckedProgram) -> list[str]:
    """Return the step that says where a person may start again, if anywhere but at the top."""
    names = program.file_names
    places = [
        f"{restart.title} at line {restart.line}"
        + (f" of {names[restart.part - 1]}" if len(names) > 1 else "")
        for restart in restarts(program.texts)
    ]
    if len(places) < 2:
        return []
    words = "After a break, with that operation's cutter in the spindle and a free way to the safe"
    return [f"{words} height, start again: {'; '.join(places)}."]


def _run_words(program: CheckedProgram) -> str:
    if len(program.texts) == 1:
        return f"Run {program.files}."
    return (
        f"Run {', '.join(program.file_names)}, in this order. Before each, put in the cutter its "
        "first lines name and set that cutter's zero."
    )


def _trim_steps(setup: Setup, results: JobResults) -> list[str]:
    corners = sum(not post.after_stop for post in setup.keep_outs)
    held = f" and screw its corners down ({corners} screws)" if corners else ""
    return [
        f"Set the fixture on the board ({results.fixture.board.title}).",
        f"Lay the formed blank on the fixture until it drops home{held}.",
    ]


def _board_words(setup: Setup, results: JobResults) -> str:
    board = results.fixture.board
    return board.title if setup.offset == board.offset else ""


def _gouge_words(depth: float, unit: LengthUnit) -> str:
    if abs(depth) < SHALLOW:
        return "none"
    if unit is LengthUnit.INCH:
        return f"{abs(depth) / unit.in_mm:.4f} in"
    return f"{abs(depth):.3f} mm"


def _long(length: float, unit: LengthUnit) -> str:
    return show_length(length, unit)
