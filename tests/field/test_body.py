"""Profiles of bodies, and what is refused."""

from __future__ import annotations

from math import inf, nan, pi, radians, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.catalog.model import Cutter, CutterKind
from chape.errors import InputError
from chape.field.body import Body
from chape.field.contact_kernels import profile_at, reach_at


def cutter(kind: CutterKind, corner: float = 0.0, point_angle: float = 180.0) -> Cutter:
    return Cutter(
        number=1,
        name="a cutter",
        kind=kind,
        diameter=6,
        corner=corner,
        point_angle=point_angle,
        flute_length=20,
        stick_out=30,
        shank_diameter=6,
        holder_diameter=40,
        flutes=2,
    )


@pytest.mark.parametrize(
    ("kind", "corner", "point_angle", "heights"),
    [
        (CutterKind.BALL, 3.0, 180.0, [0.0, 3 - sqrt(8), 3 - sqrt(5), 3.0]),
        (CutterKind.FLAT, 0.0, 180.0, [0.0, 0.0, 0.0, 0.0]),
        (CutterKind.BULL_NOSE, 1.5, 180.0, [0.0, 0.0, 1.5 - sqrt(2), 1.5]),
        (CutterKind.DRILL, 0.0, 118.0, [r / tan(radians(59)) for r in range(4)]),
        (CutterKind.VEE, 0.0, 90.0, [0.0, 1.0, 2.0, 3.0]),
        # The ball of 1 mm runs into the cone at sin 45, having risen by 1 - cos 45.
        (CutterKind.TAPERED_BALL, 1.0, 90.0, [0.0, *(r + 1 - sqrt(2) for r in (1, 2, 3))]),
    ],
)
def test_profile_of_each_kind_of_cutter(
    kind: CutterKind, corner: float, point_angle: float, heights: list[float]
) -> None:
    body = Body.of_cutter(cutter(kind, corner, point_angle))
    np.testing.assert_allclose(body.profile(np.arange(4.0)), heights, atol=1e-12)
    assert body.profile(np.array([3.001]))[0] == inf


def test_a_tapered_ball_leaves_its_tip_where_it_is_as_steep_as_its_side() -> None:
    body = Body.tapered_ball(1.0, radians(30), 3.0)
    # Side 60 degrees from level: the arc ends at sin 60, having risen by 1 - cos 60.
    foot, risen = sqrt(0.75), 0.5
    r = np.array([0.5, foot, 2.0])
    expected = [1 - sqrt(0.75), risen, risen + (2 - foot) * sqrt(3)]
    np.testing.assert_allclose(body.profile(r), expected, atol=1e-12)


def test_the_clearance_body_falls_away_at_its_draft() -> None:
    body = Body.clearance(above=0.5, beside=1.2, draft=radians(8), reach=3.0)
    assert body.lift == 0.5
    np.testing.assert_allclose(
        body.profile(np.array([0.0, 1.2, 2.2])), [0.0, 0.0, 1 / tan(radians(8))], atol=1e-12
    )
    upright = Body.clearance(above=0.5, beside=1.2, draft=0.0, reach=3.0)
    assert upright.radius == 1.2


@st.composite
def bodies(draw: st.DrawFn) -> Body:
    sizes = st.just(0.0) | st.floats(0.001, 5)
    flat, corner = draw(sizes), draw(sizes)
    if draw(st.booleans()) and flat + corner > 0:
        return Body(flat, corner, inf, flat + corner)
    return Body(flat, corner, draw(st.floats(0.01, 100)), flat + draw(st.floats(0.01, 5)))


@settings(deadline=None)
@given(bodies())
def test_every_profile_is_convex_and_the_kernels_read_the_same_one(body: Body) -> None:
    r = np.linspace(0, body.radius, 101)
    heights = body.profile(r)
    assert heights[0] == 0
    assert np.diff(heights).min() >= 0
    scale = 1e-9 * (1 + heights[-1])
    assert np.diff(heights, 2).min() >= -scale
    np.testing.assert_allclose([profile_at(body.shape, x) for x in r], heights, atol=scale)
    for x, height in zip(r, heights, strict=True):
        assert reach_at(body.shape, height) >= x - 1e-6


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: Body.ball(0.0), "no width"),
        (lambda: Body.ball(-1.0), "no size"),
        (lambda: Body.flat(nan), "no size"),
        (lambda: Body.flat(inf), "no size"),
        (lambda: Body.bull_nose(3.0, 3.5), "does not fit"),
        (lambda: Body.bull_nose(3.0, -0.5), "no size"),
        (lambda: Body.cone(0.0, 3.0), "no cone"),
        (lambda: Body.cone(pi / 2, 3.0), "no cone"),
        (lambda: Body.cone(nan, 3.0), "no cone"),
        (lambda: Body.clearance(0.5, 1.2, -0.1, 3.0), "no cone"),
        (lambda: Body.clearance(0.5, 3.5, 0.1, 3.0), "wider than"),
        (lambda: Body.clearance(nan, 1.2, 0.1, 3.0), "no height"),
        (lambda: Body(0.0, 1.0, nan, 1.0), "does not rise"),
        (lambda: Body(0.0, 1.0, inf, 3.0), "upright walls"),
        (lambda: Body.of_cutter(cutter(CutterKind.DRILL)), "no cone"),
    ],
)
def test_what_makes_no_body_is_refused_in_a_sentence(make: object, named: str) -> None:
    assert callable(make)
    with pytest.raises(InputError, match=named) as refusal:
        make()
    assert refusal.value.mend
