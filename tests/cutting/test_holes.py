"""Drilled and bored holes: pecks, feeds, swings, order; and the proof of whole programs."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from chape.catalog.model import CutterKind
from chape.catalog.read import catalog
from chape.cutting.bore import NARROWEST, bore, bore_radii
from chape.cutting.check import check_program
from chape.cutting.drill import CHIP_BREAK, GENTLE, PECK_AIR, Tool, drill
from chape.cutting.ground import Ground
from chape.cutting.model import Motion, Moves
from chape.cutting.plan import plan_program
from chape.cutting.rates import rates_for
from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.model import RoundHole
from cutting.proof_setups import FLAT, RACK, ROUTER, block_setup, cutter
from written import text_of

THIN = cutter(7, CutterKind.DRILL, 1.0, point_angle=118.0, flute_length=26.0, stick_out=34.0)
PLATE = catalog().material("HDPE")


def tool(kind: object) -> Tool:
    return Tool(kind, rates_for(kind, PLATE, ROUTER))  # type: ignore[arg-type]


def ground(top: float = 0.0) -> Ground:
    return Ground(HeightField.flat(Grid.over(0, 0, 60, 40, 0.4), top))


def hole(x: float, y: float, diameter: float = 1.0, bottom: float = -20.0) -> RoundHole:
    return RoundHole(x, y, diameter, 0.0, bottom, "vent")


def cuts(moves: Moves) -> list[tuple[np.ndarray, np.ndarray, float]]:
    """Start, end and feed of every cutting move."""
    return [
        (moves.end[n], moves.end[n + 1], float(moves.feed[n + 1]))
        for n in range(len(moves.end) - 1)
        if moves.motion[n + 1] != Motion.RAPID
    ]


def test_every_peck_breaks_its_chip_or_clears_the_hole_and_the_next_starts_just_above() -> None:
    moves = drill((hole(20, 20),), tool(THIN), ground(), 5.0).moves()
    floors = [end[2] for start, end, _ in cuts(moves)]
    assert min(floors) == pytest.approx(-20.0)
    cleared, pecks = [0.0], 0
    for n, (before, after) in enumerate(pairwise(moves.end)):
        deepest = moves.end[: n + 1, 2].min()
        if moves.motion[n + 1] != Motion.RAPID or deepest > 0:
            continue
        pecks += before[2] == deepest
        if after[2] < before[2] and after[2] < 0:
            assert after[2] == pytest.approx(deepest + PECK_AIR)
        elif before[2] == deepest and after[2] < 0:
            assert after[2] == pytest.approx(deepest + CHIP_BREAK)
        elif before[2] == deepest:
            cleared.append(float(deepest))
    # Seven pecks at least, and out of the hole after every eight diameters at most.
    assert cleared[-1] == pytest.approx(-20.0)
    assert max(a - b for a, b in pairwise(cleared)) <= 8.0 + 1e-9
    assert pecks >= 7
    assert max(a[2] - b[2] for a, b, _ in cuts(moves)) <= 3.0 + PECK_AIR + 1e-9


def test_the_first_diameter_and_the_last_before_the_underside_are_drilled_gently() -> None:
    through = hole(20, 20, bottom=-20.6)
    moves = drill((through,), tool(THIN), ground(), 5.0, underside=-20.0).moves()
    full = tool(THIN).rates.plunge
    for _, end, feed in cuts(moves):
        slow = end[2] > -1.0 - 1e-9 or end[2] < -19.0 - 1e-9
        assert feed == pytest.approx(full * (GENTLE if slow else 1.0)), end
    blind = drill((hole(20, 20),), tool(THIN), ground(), 5.0).moves()
    assert cuts(blind)[-1][2] == full


@pytest.mark.parametrize("diameter", [6.2, 6.4, 8.0, 20.0])
def test_a_bore_swings_out_and_back_without_a_corner(diameter: float) -> None:
    round_hole = hole(20, 20, diameter, -6.0)
    moves = bore((round_hole,), tool(FLAT), ground(), 5.0).moves()
    arcs = np.flatnonzero(moves.motion == Motion.COUNTER_CLOCKWISE)
    assert not (moves.motion == Motion.CLOCKWISE).any()
    reach = np.hypot(*(moves.end[arcs, :2] - np.array([20.0, 20.0])).T)
    assert reach.max() == pytest.approx((diameter - 6) / 2)

    def heading(at: np.ndarray, centre: np.ndarray) -> np.ndarray:
        spoke = at[:2] - centre
        return np.array([-spoke[1], spoke[0]]) / np.hypot(*spoke)

    for a, b in pairwise(arcs):
        if b == a + 1:
            at = moves.end[a]
            leaving, coming = heading(at, moves.centre[a]), heading(at, moves.centre[b])
            assert leaving @ coming == pytest.approx(1.0)
    # It ends in the middle, having gone round once, level, at the bottom.
    level = [n for n in arcs if moves.end[n, 2] == -6.0]
    assert np.hypot(*(moves.end[level[-1], :2] - 20.0)) == pytest.approx(0.0, abs=1e-9)
    assert len(level) >= 4


def test_a_bore_sinks_no_steeper_than_the_ramp_and_no_deeper_than_half_a_level() -> None:
    moves = bore((hole(20, 20, 12.0, -8.0),), tool(FLAT), ground(), 5.0).moves()
    for n in np.flatnonzero(moves.motion == Motion.COUNTER_CLOCKWISE):
        run = np.pi * np.hypot(*(moves.end[n, :2] - moves.centre[n]))
        fall = moves.end[n - 1, 2] - moves.end[n, 2]
        assert fall <= run * np.tan(np.radians(8)) + 1e-9
        assert fall <= tool(FLAT).rates.depth / 4 + 1e-9


@pytest.mark.parametrize("diameter", [5.0, 6.0, 6.0 + NARROWEST / 2, np.nan])
def test_a_bore_no_wider_than_its_cutter_is_refused(diameter: float) -> None:
    with pytest.raises(CannotMakeError, match="cannot be bored with a cutter of 6 mm"):
        bore_radii(diameter, 6.0)


def test_holes_are_visited_on_a_short_way_and_what_it_saves_is_told() -> None:
    places = [(10.0 + 10 * (n % 5), 10.0 + 10 * (n // 5)) for n in range(15)]
    mixed = tuple(hole(*places[n]) for n in np.random.default_rng(2).permutation(15))
    track = drill(mixed, tool(THIN), ground(), 5.0)
    seen = [tuple(end[:2]) for _, end, _ in cuts(track.moves())]
    order = [place for n, place in enumerate(seen) if n == 0 or place != seen[n - 1]]
    way = sum(float(np.hypot(*np.subtract(a, b))) for a, b in pairwise([(0.0, 0.0), *order]))
    assert sorted(order) == sorted(places)
    # Up and down five columns, or to and fro three rows: fourteen steps of 10 mm.
    assert way == pytest.approx(np.hypot(10, 10) + 140)
    given = sum(
        float(np.hypot(b.x - a.x, b.y - a.y)) for a, b in pairwise([hole(0.0, 0.0), *mixed])
    )
    assert track.saved == pytest.approx(given - way)


def test_a_program_of_drilled_and_bored_holes_is_proved_from_its_text() -> None:
    rack = (*RACK, THIN)
    holes = (
        hole(8, 8, 1.0, -15.0),
        hole(32, 8, 3.0, -12.0),
        hole(8, 32, 6.4, -10.0),
        hole(30, 30, 14.0, -10.0),
        hole(20, 20, 3.0, -18.95),
    )
    setup = replace(block_setup(top=0.0), cutters=rack, holes=holes, z_bottom=-18.0)
    program = plan_program(setup)
    assert program.rapid_saved > 0
    verdict = check_program(text_of(program), setup)
    assert verdict.released, verdict.findings
    assert "plunge-full-width" not in {finding.code for finding in verdict.findings}
