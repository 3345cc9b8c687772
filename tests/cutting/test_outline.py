from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.cutting.check import check_program
from chape.cutting.drill import Tool
from chape.cutting.ground import Ground
from chape.cutting.model import KeepOut, Motion, Operation, OperationKind, Program, Setup
from chape.cutting.outline import HEAD_AIR, Under, cut_outlines
from chape.cutting.plan import plan_program
from chape.cutting.rates import rates_for
from chape.errors import CannotMakeError
from chape.tooling.model import RoundHole
from cut_boards import rounded_part, trim
from cutting.proof_setups import FLAT, ROUTER
from naive_carving import stations
from written import text_of

if TYPE_CHECKING:
    from chape.cutting.link import Track
    from chape.field.outline import Outline

TOOL = Tool(FLAT, rates_for(FLAT, catalog().material("acrylic-PVC"), ROUTER))


def cut(
    setup: Setup,
    parts: tuple[Outline, ...] | None = None,
    posts: tuple[KeepOut, ...] = (),
    *,
    spring: bool = True,
) -> Track:
    return cut_outlines(
        setup.outlines if parts is None else parts,
        Under(setup.target, -1.0),
        TOOL,
        Ground(setup.stock),
        posts,
        12.0,
        spring=spring,
    )


@pytest.mark.parametrize(("room", "fits"), [(8.7625, True), (8.7600, False)])
def test_the_cutter_keeps_off_a_quarter_inch_socket_head(*, room: float, fits: bool) -> None:
    """Head 0.375 in across (ASME B18.3, from memory), cutter 6 mm, 1 mm of air: 8.7625 mm.

    The cutter's middle runs a radius and half the arc tolerance outside the part's edge.
    """
    least = 0.375 * 25.4 / 2 + 3.0 + HEAD_AIR
    assert least == pytest.approx(8.7625)
    setup = trim()
    # The right-hand edge of the first part is straight, at x = 28; so is its way, at x = 31.
    post = KeepOut(31.005 - room, 20.0, 0.375 * 25.4 / 2, 8.0, after_stop=True)
    if fits:
        assert len(cut(setup, setup.outlines[:1], (post,)).moves().end)
    else:
        with pytest.raises(CannotMakeError, match=r"0\.99\d? mm|1\.00 mm from"):
            cut(setup, setup.outlines[:1], (post,))


@pytest.mark.parametrize("radius", [np.nan, np.inf])
def test_a_head_without_a_size_is_kept_off_from(radius: float) -> None:
    post = KeepOut(18.0, 20.0, radius, 8.0, after_stop=True)
    with pytest.raises(CannotMakeError, match="screw head"):
        cut(trim(), posts=(post,))


def test_parts_on_one_another_and_parts_too_near_are_refused() -> None:
    setup = trim()
    outer, inner = rounded_part(30, 20, 12, 4), rounded_part(30, 20, 5, 2)
    with pytest.raises(CannotMakeError, match="parts 1 and 2 lie on one another"):
        cut(setup, (outer, inner))
    near = (rounded_part(18, 20, 10, 4), rounded_part(40.5, 20, 10, 4))
    with pytest.raises(CannotMakeError, match=r"comes \d\.\d+ mm from part 2"):
        cut(setup, near)


def test_arcs_in_and_out_stay_off_parts_and_heads() -> None:
    setup = trim()
    posts = tuple(replace(post, after_stop=True) for post in setup.keep_outs)
    moves = cut(setup, posts=posts).moves()
    shapes = shapely.union_all([part.polygon() for part in setup.outlines])
    leads = [p for m, p in stations(moves) if m == Motion.COUNTER_CLOCKWISE]
    points = shapely.points(np.vstack(leads)[:, :2])
    assert len(leads) == 4
    assert shapely.distance(points, shapes).min() >= FLAT.radius - 0.001
    for post in posts:
        away = shapely.distance(points, shapely.Point(post.x, post.y)).min()
        assert away >= post.radius + FLAT.radius + HEAD_AIR - 0.001


def test_no_way_in_is_a_sentence() -> None:
    setup = trim()
    tight = setup.target.with_z(np.where(setup.target.z < 0, 0.0, 0.0))
    with pytest.raises(CannotMakeError, match="no room in the waste"):
        cut(replace(setup, target=tight))


def test_the_spring_pass_goes_round_once_more_at_full_depth() -> None:
    setup = trim()

    def at_full_depth(track: Track) -> float:
        points = [p for m, p in stations(track.moves()) if m == Motion.CLOCKWISE or p[0, 2] < 0]
        steps = [np.hypot(*np.diff(p[:, :2], axis=0).T).sum() for p in points if p[:, 2].max() < 0]
        return float(np.sum(steps))

    part = setup.outlines[:1]
    once, twice = (at_full_depth(cut(setup, part, spring=spring)) for spring in (False, True))
    ring = part[0].polygon().buffer(3.0).exterior.length
    # The way on to the arc out may be shorter or longer by up to a round.
    assert (twice - once) % ring == pytest.approx(0.0, abs=0.2) or (
        twice - once
    ) % ring > ring - 0.2
    assert twice > once + 0.9 * ring


@pytest.mark.parametrize("spring", [True, False])
def test_both_kinds_are_proved_from_their_text(*, spring: bool) -> None:
    setup = replace(trim(), spring_pass=spring)
    verdict = check_program(text_of(plan_program(setup)), setup)
    assert verdict.released, verdict.findings


def test_ways_between_bores_pass_above_the_corner_screws() -> None:
    setup = trim()
    holes = tuple(RoundHole(x, 20.0, 6.4, 2.0, -0.3, "drain") for x in (42.0, 64.0))
    post = KeepOut(53.0, 20.0, 4.0, 6.5, after_stop=False)
    setup = replace(setup, holes=holes, keep_outs=(post,), outlines=setup.outlines[:1])
    verdict = check_program(text_of(plan_program(setup)), setup)
    assert verdict.released, verdict.findings


def test_the_order_of_parts_saves_rapids_and_says_how_much() -> None:
    setup = trim()
    parts = tuple(rounded_part(x, 20, 5, 2) for x in (10.0, 58.0, 26.0, 42.0))
    grid = setup.stock.grid
    x, y = grid.mesh()
    ways = shapely.union_all([part.polygon().buffer(3.0).exterior for part in parts])
    seat = np.where(shapely.contains_xy(ways.buffer(4.5), x, y), -2.0, 0.0)
    track = cut(replace(setup, target=setup.target.with_z(seat)), parts)
    assert track.saved > 40
    program = Program(
        setup,
        (Operation(OperationKind.OUTLINE, "", FLAT, 1, track.moves(), rapid_saved=track.saved),),
    )
    assert program.rapid_saved == track.saved


def test_a_ridge_across_a_straight_edge_is_cut_in_depths_and_never_at_the_feed_for_air() -> None:
    setup = trim()
    x, y = setup.stock.grid.mesh()
    # 6 mm of sheet stand across the first part's straight right-hand edge, clear of its corners.
    ridge = (np.abs(y - 20.0) < 1.0) & (x > 24.0) & (x < 38.0)
    higher = replace(setup, stock=setup.stock.with_z(np.where(ridge, 6.0, setup.stock.z)))
    moves = cut(higher, setup.outlines[:1]).moves()
    start = np.vstack([moves.end[:1], moves.end[:-1]])
    across = (start[:, 0] > 28.0) & (moves.end[:, 0] > 28.0) & (moves.motion != Motion.RAPID)
    across &= (start[:, 1] - 20.0) * (moves.end[:, 1] - 20.0) < 0.0
    heights = np.minimum(start[across, 2], moves.end[across, 2])
    stands = 6.0
    for height, feed in zip(heights, moves.feed[across], strict=True):
        assert stands - max(height, 0.0) <= TOOL.rates.depth + 1e-6
        assert feed <= TOOL.rates.feed or stands <= height
        stands = min(stands, max(height, 0.0))
    assert len(heights) > 2
