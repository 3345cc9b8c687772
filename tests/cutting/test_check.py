from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chape.catalog.model import CutterKind
from chape.cutting.check import check_program
from chape.cutting.check_flip import check_flip
from chape.cutting.controller_facts import UNKNOWN
from chape.cutting.model import KeepOut
from chape.field.heights import HeightField
from chape.findings import Severity
from chape.tooling.model import Groove, RoundHole
from cutting.proof_setups import (
    END,
    RACK,
    block_setup,
    bored,
    codes,
    cutter,
    faced,
    found,
    grooved_back,
    milled,
    square_cut,
    start,
    text_of,
    trim_sheet,
)

BLOCK = block_setup()
SCRATCH = ["G0 Z10", "G0 X20 Y20", "G1 Z{z} F600", "G1 X25 F900"]


def scratched(number: int, z: float) -> str:
    return text_of(faced(), *([] if number == 2 else [start(number)]),
                   [line.format(z=z) for line in SCRATCH], END)  # fmt: skip


def test_a_sound_program_is_released() -> None:
    verdict = check_program(text_of(faced(), END), BLOCK)
    assert verdict.findings == ()
    assert verdict.released
    assert verdict.gouge_most == 0
    assert np.all(verdict.stock_after.z == 0)
    assert np.all(verdict.leftover.z == 0)
    assert verdict.z_lowest == 0


def test_the_hash_is_that_of_the_text() -> None:
    import hashlib  # noqa: PLC0415

    text = text_of(faced(), END)
    assert check_program(text, BLOCK).hashes == (hashlib.sha256(text.encode()).hexdigest(),)


def test_the_same_text_gives_the_same_stock() -> None:
    text = scratched(1, -0.5)
    first, second = (check_program(text, BLOCK) for _ in range(2))
    assert first.stock_after.z.tobytes() == second.stock_after.z.tobytes()


@pytest.mark.parametrize("number", [1, 2, 3])
@pytest.mark.parametrize("depth", [0.005, 0.010, 0.020])
def test_an_injected_gouge_is_reported_as_deep_as_it_is(number: int, depth: float) -> None:
    verdict = check_program(scratched(number, -depth), BLOCK)
    assert verdict.gouge_most == pytest.approx(depth, abs=1e-9)
    assert "gouge" not in codes(verdict)


def test_a_gouge_beyond_the_tolerance_is_an_error() -> None:
    verdict = check_program(scratched(2, -0.03), BLOCK)
    (gouge,) = (finding for finding in verdict.findings if finding.code == "gouge")
    assert gouge.severity is Severity.ERROR
    assert gouge.measured == pytest.approx(0.03)
    assert "line 5" in gouge.place
    assert not verdict.released


def test_a_gouge_into_a_wall_is_measured_along_its_normal() -> None:
    slope = 3.0
    wall = HeightField.of(BLOCK.stock.grid, lambda x, y: -slope * (x - 20) + 0 * y)
    setup = replace(BLOCK, target=wall, stock=wall.with_z(wall.z + 0.5))
    # A ball runs along the wall, its middle 2.9 mm from it instead of 3.
    away = 2.9
    x, z = 20 + away * slope / np.hypot(1, slope), away / np.hypot(1, slope) - 3
    text = text_of(start(1), ["G0 X30 Y-5", f"G1 Z{z:.6f} F600", f"G1 X{x:.6f} F900", "Y45"], END)
    verdict = check_program(text, setup)
    # Nodes lie 0.79 mm apart on the wall: they miss at most 0.79²/8R of the deepest place.
    assert 0.1 - 0.026 <= verdict.gouge_most <= 0.1


def test_leftover_beyond_reach_is_an_error_and_a_fillet_is_not() -> None:
    ridge = BLOCK.target.with_z(
        np.where(BLOCK.target.grid.x[None, :] < 10, 1.0, 0.0 * BLOCK.target.z)
    )
    setup = replace(BLOCK, target=ridge)
    over = milled(1.0, step=1.0)
    low = ["G0 Z10", "G0 X45 Y-5", "G0 Z1", "G1 Z0 F600"]
    y, side = 0.0, True
    low.append("G1 Y0 F2000")
    while y <= 40:
        low += [f"X{12.0 if side else 45.0}", f"Y{y + 0.2:.3f}"]
        y, side = y + 0.2, not side
    text = text_of(start(1), over, low, END)
    verdict = check_program(text, setup)
    assert verdict.leftover.z.max() > 0.1  # the ball's own fillet at the step's foot
    assert verdict.leftover_most < 0.1
    assert "leftover-high" not in codes(verdict)
    missed = check_program(text_of(start(1), over, END), setup)
    assert "leftover-high" in codes(missed)
    assert missed.leftover_most == pytest.approx(1.0 + 3 - np.sqrt(9 - 0.25), abs=0.3)


def test_a_rapid_through_material_is_as_deep_as_it_is() -> None:
    """A diagonal from 1 mm above to 8 mm below the top of the stock."""
    setup = replace(BLOCK, stock=HeightField.flat(BLOCK.stock.grid, 8.0))
    text = text_of(start(2), ["G0 X0 Y0", "G0 X40 Y40 Z-1", "G1 Z-1 F100"], END)
    verdict = check_program(text, setup)
    assert "rapid-into-material" in codes(verdict)
    assert verdict.rapid_deepest == pytest.approx(9.0, abs=1e-6)


def test_a_rapid_that_may_not_go_straight_is_an_error() -> None:
    """Straight from above one edge to beside the other it is clear; one axis first it is not."""
    post = np.where(
        np.hypot(BLOCK.stock.grid.x[None, :] - 30, BLOCK.stock.grid.y[:, None] - 10) < 3, 9.0, 0.0
    )
    setup = replace(BLOCK, stock=BLOCK.stock.with_z(post), target=BLOCK.target.with_z(post))
    text = text_of(start(5), ["G0 X5 Y5", "G0 Z1", "G0 X35 Y35"], END)
    assert "rapid-dog-leg" in found(text, setup)
    text = text_of(start(5), ["G0 X5 Y5", "G0 Z1", "G0 Y35", "G0 X35"], END)
    assert "rapid-dog-leg" not in found(text, setup)


def test_a_rapid_in_the_air_that_mixes_height_and_travel_is_warned_of() -> None:
    verdict = check_program(text_of(faced(), ["G0 Z10", "G0 X0 Y0 Z12"], END), BLOCK)
    assert codes(verdict) == {"rapid-mixed"}
    assert verdict.released


@pytest.mark.parametrize(("room", "deep"), [(-0.1, [0.1]), (0.1, [])])
def test_a_screw_head_is_hit_by_a_tenth_and_missed_by_a_tenth(
    room: float, deep: list[float]
) -> None:
    post = KeepOut(x=20.0, y=-12.0, radius=5.0, z_top=4.0, after_stop=False)
    setup = replace(BLOCK, keep_outs=(post,))
    y = -12 + 5 + 3 + room
    text = text_of(
        faced(), ["G0 Z10", "G0 X0 Y-30", "G0 X-6", f"Y{y:.3f}", "G1 Z1 F600", "X46"], END
    )
    verdict = check_program(text, setup)
    hits = [finding for finding in verdict.findings if finding.code == "screw-head-hit"]
    assert [hit.measured for hit in hits] == pytest.approx(deep, abs=1e-9)


def test_a_path_above_a_screw_head_is_clear() -> None:
    post = KeepOut(x=20.0, y=20.0, radius=5.0, z_top=9.0, after_stop=False)
    assert "screw-head-hit" not in found(text_of(faced(), ["G0 Z10", "X20"], END), BLOCK)
    assert "screw-head-hit" in found(text_of(faced(), END), replace(BLOCK, keep_outs=(post,)))


def test_a_holder_strike_is_as_deep_as_it_is() -> None:
    """Beside a wall 14 mm high, a cutter that sticks out 10 mm puts its holder 4 mm into it."""
    short = cutter(9, CutterKind.FLAT, 6.0, stick_out=10.0, flute_length=9.0, holder_diameter=24.0)
    grid = BLOCK.stock.grid
    wall = np.where(grid.x[None, :] > 30, 14.0, 0.0) + np.zeros(grid.shape)
    setup = replace(BLOCK, stock=BLOCK.stock.with_z(wall), target=BLOCK.stock.with_z(wall),
                    cutters=(*RACK, short))  # fmt: skip
    head = ["G0 Z30" if line == "G0 Z10" else line for line in start(9)]
    text = text_of(head, ["G0 X25 Y20", "G1 Z0 F600", "Y30", "G0 Z30", "M5", "M30"])
    verdict = check_program(text, setup)
    assert "holder-strike" in codes(verdict)
    assert verdict.holder_deepest == pytest.approx(4.0, abs=1e-6)


def test_a_thick_shank_strikes_and_a_slim_one_does_not() -> None:
    thick = cutter(8, CutterKind.FLAT, 3.0, flute_length=5.0, shank_diameter=6.0)
    deep = replace(BLOCK, stock=HeightField.flat(BLOCK.stock.grid, 8.0), cutters=(*RACK, thick))
    cut = ["G0 X20 Y-5", "G1 Z0 F600", "Y45"]
    assert "shank-strike" in found(text_of(start(8), cut, END), deep)
    assert "shank-strike" not in found(text_of(start(5), cut, END), deep)


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (" G21", "", "units-missing"),
        (" G90", "", "distance-mode-missing"),
        ("G54\n", "", "offset-missing"),
        ("G54\n", "G55\n", "offset-wrong"),
        ("G54\n", "G54.1 P2\n", "offset-wrong"),
        ("T2 M6\n", "", "cutter-missing"),
        ("T2 M6", "T77 M6", "cutter-unknown"),
        ("G43 H2", "G43 H1", "length-offset-wrong"),
        ("G43 H2\n", "", "length-offset-wrong"),
        ("S12000 M3\n", "", "spindle-off"),
        (" M3\n", " M4\n", "spindle-reversed"),
        ("S12000", "S30000", "spindle-out-of-range"),
        ("S12000", "S100", "spindle-out-of-range"),
        ("F2000", "F9000", "feed-above-machine"),
        ("G0 Z10\nG0 X-5", "G0 X-5", "place-unknown"),
        ("G0 Z10\nM5\nM30", "M5\nM30", "stop-low"),
        ("G0 Z10\nM5", "G0 Z10\nM0\nM5", "stop-spindle-on"),
        ("X45.000", "X700.000", "travel-exceeded"),
        ("G1 Z0.0", "G1 Z-21.5", "below-piece"),
        ("M30", "", "program-unreadable"),
        ("G0 X-5", "G28 X-5", "place-unknown"),
    ],
)
def test_each_fault_is_found(old: str, new: str, code: str) -> None:
    text = text_of(faced(), END)
    assert old in text
    assert code not in found(text, BLOCK)
    verdict = check_program(text.replace(old, new), BLOCK)
    assert code in codes(verdict)
    assert not verdict.released


SLOW = replace(UNKNOWN, spin_up=4.0)


@pytest.mark.parametrize(
    ("words", "sound"),
    [
        ("S12000 M3\nG4 P4", True),
        ("S12000 M3\nG4 P1.5\nG4 P2.5", True),
        ("G4 P4\nS12000 M3", False),
        ("S12000 M3\nG4 P3.9", False),
        ("S12000 M3", False),
        ("S12000 M3\nG4 P4\nS12000 M3", True),
        ("S12000 M3\nG4 P4\nS14000", False),
        ("S12000 M3\nG4 P4\nM5\nM3", False),
    ],
)
def test_nothing_is_cut_before_the_spindle_is_at_speed(words: str, *, sound: bool) -> None:
    text = text_of(faced(), END).replace("S12000 M3", words)
    verdict = check_program(text, BLOCK, SLOW)
    assert verdict.released is sound
    assert ("spindle-not-at-speed" in codes(verdict)) is not sound
    # Of a controller that nobody knows a spindle to come up slowly.
    assert check_program(text, BLOCK, UNKNOWN).released


def test_a_missing_feed_is_found() -> None:
    text = text_of(faced(), END).replace(" F600", "").replace(" F2000", "")
    assert "feed-missing" in found(text, BLOCK)


def test_a_program_that_cuts_air_is_found() -> None:
    assert "nothing-cut" in found(text_of(start(2), ["G0 X0 Y0"], END), BLOCK)


def test_a_full_width_plunge_is_warned_of() -> None:
    cut = ["G0 Z10", "G0 X20 Y20", "G1 Z0 F100"]
    verdict = check_program(text_of(start(2), cut, END), BLOCK)
    (plunge,) = (finding for finding in verdict.findings if finding.code == "plunge-full-width")
    assert plunge.severity is Severity.WARNING
    assert plunge.measured == pytest.approx(2.0)
    assert "plunge-full-width" not in found(text_of(start(1), cut, END), BLOCK)


def test_a_hand_change_at_a_stop_names_its_cutter() -> None:
    by_hand = BLOCK.machine.model_copy(update={"tool_changer": False})
    text = text_of(faced(), END).replace("T2 M6", "T2 M0").replace("G43 H2\n", "")
    assert found(text, replace(BLOCK, machine=by_hand)) == set()


def test_g53_to_the_top_is_a_known_height() -> None:
    text = text_of(faced(), ["G53 G0 Z0", "G0 X0 Y0", "M5", "M30"]).replace(
        "G0 Z10", "G53 G0 Z0", 1
    )
    assert found(text, BLOCK) == set()


# ---- holes and grooves ----------------------------------------------------------------------

HOLE = RoundHole(20.0, 20.0, 3.0, 0.0, -6.0, "insert")
DRILLED = replace(BLOCK, holes=(HOLE,))


def drilled(x: float = 20.0, z: float = -6.0, number: int = 4) -> str:
    cycle = [f"G0 X{x} Y20", f"G98 G83 X{x} Y20 Z{z} R3 Q2 F200", "G80"]
    return text_of(faced(), ["G0 Z10", "M5"], start(number), cycle, END)


def test_a_drilled_hole_is_found_good() -> None:
    assert found(drilled(), DRILLED) == set()


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (text_of(faced(), END), "hole-missing"),
        (drilled(z=-5.0), "hole-missing"),
        (drilled(x=20.3), "hole-off-place"),
        (drilled(z=-6.5), "gouge"),
        (drilled(number=2), "hole-wrong-size"),
    ],
)
def test_a_wrong_hole_is_found(text: str, code: str) -> None:
    assert code in found(text, DRILLED)


def test_on_a_coarse_grid_a_node_beside_a_narrow_hole_is_not_in_it() -> None:
    """A vent of 1 mm and nodes 0.8 mm apart: the nearest lies 0.55 mm from its middle."""
    vent = RoundHole(20.4, 20.37, 1.0, 0.0, -6.0, "vent")
    coarse = block_setup(spacing=0.8)
    narrow = cutter(8, CutterKind.DRILL, 1.0, point_angle=118.0)
    setup = replace(coarse, holes=(vent,), cutters=(*RACK, narrow))
    cycle = ["G0 X20.4 Y20.37", "G98 G83 X20.4 Y20.37 Z-6 R3 Q2 F200", "G80"]
    assert found(text_of(faced(), ["G0 Z10", "M5"], start(8), cycle, END), setup) == set()
    assert "hole-missing" in found(text_of(faced(), END), setup)


def test_a_bore_leaves_its_core() -> None:
    wide = replace(BLOCK, holes=(RoundHole(20.0, 20.0, 20.0, 0.0, -3.0, "pin"),))
    ring = ["G0 X27 Y20", "G1 Z0 F200", "G3 X27 Y20 I-7 J0 Z-3", "G3 X27 Y20 I-7 J0"]
    assert "hole-shallow" in found(text_of(faced(), ["G0 Z10"], ring, END), wide)


def test_the_back_is_cut_where_it_lies() -> None:
    setup, _ = grooved_back()
    text = text_of(start(5), ["G0 X{x} Y5", "G1 Z0.5 F300", "Y35 Z-3 F900", "Y5"], END)
    assert found(text.replace("{x}", "12"), setup) == set()
    unturned = found(text.replace("{x}", "48"), setup)
    assert {"flip-wrong-side", "groove-not-cut", "gouge"} <= unturned
    assert "groove-not-cut" in found(text.replace("{x}", "12").replace("Y35", "Y30"), setup)


def test_vents_must_meet_the_grooves_of_the_back() -> None:
    back, groove = grooved_back()
    vents = tuple(RoundHole(48.0, y, 1.0, 0.0, -17.0, "vent") for y in (10.0, 30.0))
    top = replace(BLOCK, holes=vents)
    assert check_flip(top, back) == ()
    unturned = Groove(np.column_stack([60 - groove.points[:, 0], groove.points[:, 1]]), 3.0, -3.0)
    wrong = check_flip(top, replace(back, grooves=(unturned,)))
    assert [finding.code for finding in wrong] == ["vent-misses-groove", "groove-without-vent"]


# ---- trimming -------------------------------------------------------------------------------

SHEET = trim_sheet()
BORES = [line for hole in SHEET.holes for line in bored(hole)]
STOP = ["M5", "M0", "S12000 M3"]


def trimmed(*, stop: bool = True, low: float = 12.0, high: float = 48.0, z: float = -1.0) -> str:
    return text_of(start(2), BORES, STOP if stop else [], square_cut(low, high, z), END)


def test_a_sound_trim_is_released() -> None:
    verdict = check_program(trimmed(), SHEET)
    assert verdict.findings == ()


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (trimmed(stop=False), "screw-stop-missing"),
        (trimmed(low=12.1), "part-cut"),
        (trimmed(high=48.3), "part-too-large"),
        (trimmed(z=0.5), "part-attached"),
        (trimmed(z=-2.1), "fixture-cut"),
        (text_of(start(2), square_cut(12, 48), BORES, STOP, END), "part-free-before-screws"),
        (text_of(start(2), STOP, square_cut(12, 48), END), "hole-missing"),
        (text_of(start(2), BORES, STOP, BORES, square_cut(12, 48), END), "screw-head-hit"),
    ],
)
def test_a_wrong_trim_is_found(text: str, code: str) -> None:
    assert code in found(text, SHEET)


def test_a_part_cut_by_exactly_a_tenth_says_so() -> None:
    verdict = check_program(trimmed(low=12.1), SHEET)
    (cut,) = (finding for finding in verdict.findings if finding.code == "part-cut")
    assert cut.measured == pytest.approx(0.1, abs=1e-6)


def test_a_nib_keeps_a_part_attached() -> None:
    ring = ["G0 Z10", "X20 Y12", "Z2.5", "G1 Z-1 F300", "X48 F1500", "Y48", "X12", "Y12"]
    closed = text_of(start(2), BORES, STOP, ring, ["X20"], END)
    open_by_one = text_of(start(2), BORES, STOP, ring, ["X13"], END)
    assert "part-attached" not in found(closed, SHEET)
    assert "part-attached" in found(open_by_one, SHEET)
