"""What holds a piece, and whether that bears the cut."""

from __future__ import annotations

from dataclasses import replace

import pytest

from chape.catalog.read import catalog
from chape.cutting.check import check_program
from chape.cutting.grip import Grip, grip_of, pull_out, screw_force, sheet_grip, vacuum_difference
from chape.errors import CannotMakeError
from cutting.proof_setups import END, block_setup, codes, faced, found, text_of

HDPE = catalog().material("HDPE")
VACUUM = catalog().hold("vacuum-plate")


def vacuum(kilopascal: float, leak: float = 0.0, share: float = 1.0):
    asked = VACUUM.vacuum
    figure = asked.difference
    return VACUUM.model_copy(
        update={
            "vacuum": asked.model_copy(
                update={
                    "difference": figure.model_copy(update={"value": kilopascal}),
                    "leak": asked.leak.model_copy(update={"value": leak}),
                    "sealed_share": share,
                }
            )
        }
    )


def test_a_vacuum_holds_its_difference_times_the_sealed_area():
    # 85 kPa on 200 x 150 mm: 2550 N (definition)
    assert grip_of(vacuum(85), HDPE, 200 * 150, 0).clamp == pytest.approx(2550)
    assert grip_of(vacuum(85, share=0.5), HDPE, 200 * 150, 0).clamp == pytest.approx(1275)


def test_no_vacuum_is_deeper_than_the_air():
    # ISO 2533: 84.556 kPa at 1500 m; a demand of 90 kPa must be refused
    with pytest.raises(CannotMakeError, match=r"84\.6 kPa"):
        vacuum_difference(vacuum(90).vacuum, 1500)
    assert vacuum_difference(vacuum(90).vacuum, 0) == 90
    # Asked for all of it, the pump gives what its lowest pressure and the leaks leave.
    reached = vacuum_difference(vacuum(84.5, leak=0.8).vacuum, 1500)
    assert reached == pytest.approx(84.556 - 3 - 0.8 / 8 * 84.556, abs=0.01)


def test_a_shaped_face_seals_on_nothing():
    assert grip_of(VACUUM, HDPE, 9e4, 0, level=False).clamp == 0


def test_screws_are_limited_by_the_plate():
    # F = T / (K d): 2 N m, K 0.2, 6 mm: 1667 N each (common practice)
    assert screw_force(2, 0.2, 6) == pytest.approx(1666.7, abs=0.1)
    # pi d l tau: 6 x 12 mm in 20 MPa: 4524 N (arithmetic)
    assert pull_out(6, 12, 20) == pytest.approx(4523.9, abs=0.1)
    hold = catalog().hold("screws-below")
    assert grip_of(hold, HDPE, 9e4, 0).clamp == pytest.approx(4 * 1666.67, abs=1)
    board = catalog().material("MDF")
    assert grip_of(hold, board, 9e4, 0).clamp == pytest.approx(
        4 * 0.5 * pull_out(6, 12, board.shear_strength.value)
    )


def test_the_fewest_screws_of_any_phase_count():
    screw = catalog().screw("screw-m6-button")
    four, two = sheet_grip(screw, HDPE, 4, 4), sheet_grip(screw, HDPE, 4, 2)
    assert two.clamp == pytest.approx(four.clamp / 2)
    assert sheet_grip(screw, HDPE, 0, 0).clamp == 0


def test_lift_takes_from_friction():
    grip = Grip("screws", 1000, 0.2)
    assert grip.sideways(0) == pytest.approx(200)
    assert grip.sideways(400) == pytest.approx(120)
    assert grip.sideways(2000) == 0


def test_the_check_weighs_force_against_hold():
    """2 mm deep at 0.1 mm a tooth in HDPE: 60 N/mm² x 0.2 mm² = 12 N along, 13.4 N in all."""
    text = text_of(faced(z=0.0), END)
    setup = replace(block_setup(), material=HDPE, grip=Grip("four screws", 5000, 0.2))
    verdict = check_program(text, setup)
    (load,) = verdict.loads
    assert load.depth == pytest.approx(2.0)
    assert load.tooth_load == pytest.approx(2000 / (12000 * 2))
    along = 60 * load.tooth_load * 2
    assert load.force == pytest.approx(along * 1.25**0.5)
    assert load.surface_speed == pytest.approx(3.14159265 * 6 * 12)
    assert load.power == pytest.approx(0.06 * 6 * 2 * 2000 / 60)
    assert "hold-down-weak" not in codes(verdict)
    needed = 2 * load.force / 0.2 + 2 * load.lift
    for share, severity in ((1.01, None), (0.99, "warning"), (0.4, "error")):
        held = replace(setup, grip=Grip("few screws", needed * share, 0.2))
        found = [f for f in check_program(text, held).findings if f.code == "hold-down-weak"]
        assert [f.severity.value for f in found] == ([severity] if severity else [])


def test_a_weak_spindle_is_seen():
    weak = block_setup().machine.model_copy(update={"spindle_power": 20.0})
    setup = replace(block_setup(), material=HDPE, machine=weak)
    assert "power-high" in codes(check_program(text_of(faced(), END), setup))


def test_clamps_cannot_stand_where_all_is_cut():
    setup = replace(block_setup(), material=HDPE, grip=Grip("clamps", 5000, 0.2, reach=12))
    assert "clamps-in-the-way" in codes(check_program(text_of(faced(), END), setup))


def test_nothing_is_said_about_a_piece_of_unknown_material():
    verdict = check_program(text_of(faced(), END), block_setup())
    assert verdict.loads == ()
    assert verdict.at_full_speed <= verdict.seconds


def test_a_feed_meant_for_air_in_a_broad_cut_is_seen():
    setup = replace(block_setup(), material=HDPE)
    text = text_of(faced(), END)
    assert "tooth-load-high" not in found(text, setup)
    assert "tooth-load-high" in found(text.replace("F2000", "F20000"), setup)
