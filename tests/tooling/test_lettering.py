"""Marks read right on the outside of either half, and the finishing ball can make them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from chape.errors import CannotMakeError, InputError
from chape.field.envelope import Body, closing
from chape.sheath.halves import axis_of, half_holes, piece_of, side_of
from chape.tooling.check_marks import check_marks, shown
from chape.tooling.lettering import make_marks, marked, with_marks
from chape.tooling.model import MarkChoice, MouldChoices
from chape.tooling.mould import make_mould
from specimens import camp_layout, camp_sheath, slender_sheath

#: Enough for what lies where; how deep a mark comes out is measured on the finer sheath.
COARSE = 0.8

#: A sign that is its own mirror image in no direction, as lines.
FLAG = {"flag.svg": [np.array([[0.0, 0.0], [0.0, 3.0]]), np.array([[0.0, 3.0], [1.5, 3.0]])]}


def mark_of(sheath, **asked):
    choice = MarkChoice(**{"text": "L", "x": 62.0, "height": 9.0, "depth": 0.4, **asked})
    (mark,) = make_marks(sheath, [choice], FLAG)
    return mark


def codes(sheath, **asked):
    return {finding.code for finding in check_marks(sheath, [mark_of(sheath, **asked)])}


@pytest.mark.parametrize("sheath", [camp_sheath, slender_sheath], ids=["right", "left"])
@pytest.mark.parametrize("half", ["front", "back"])
@pytest.mark.parametrize("asked", [{"text": "L"}, {"text": None, "figure": "flag.svg"}])
def test_a_mark_is_turned_but_never_mirrored(sheath, half, asked):
    """Three corners of an L keep the way they turn, as seen on the sheath's outside."""
    mark = mark_of(sheath(), half=half, **asked)
    plain = mark_of(sheath(), half="front", **asked)
    turns = []
    for one in (mark, plain):
        corners = np.vstack(one.strokes)
        first, second = corners[1] - corners[0], corners[-1] - corners[0]
        turns.append(float(first[0] * second[1] - first[1] * second[0]))
    assert turns[0] == pytest.approx(turns[1])
    # Heads towards the spine, which is the fold line v = 0, on either half.
    head = np.vstack(mark.strokes)[0] if asked["text"] else np.vstack(mark.strokes)[1]
    foot = np.vstack(mark.strokes)[1] if asked["text"] else np.vstack(mark.strokes)[0]
    assert abs(head[1]) < abs(foot[1])


def test_a_mark_lies_on_the_half_it_is_asked_for():
    sheath = camp_sheath()
    for half in ("front", "back"):
        mark = mark_of(sheath, half=half)
        holes = half_holes(sheath, upper=mark.upper)
        assert all(np.sign(hole.v) == np.sign(mark.strokes[0][0, 1]) for hole in holes)


@pytest.mark.parametrize("way", ["raised", "sunk"])
def test_a_mark_is_as_deep_as_asked_and_a_ball_reaches_all_of_it(way):
    sheath = camp_sheath()
    mark = mark_of(sheath, way=way)
    piece = piece_of(sheath, upper=mark.upper)
    field = marked(piece, [mark])
    change = field.z - piece.formed.z
    sign = 1.0 if way == "raised" else -1.0
    assert float((sign * change).max()) == pytest.approx(0.4, abs=0.02)
    x, y = field.grid.mesh()
    away = shapely.distance(mark.lines, shapely.points(x, y))
    assert np.abs(change[away > mark.reach + mark.radius]).max() == 0.0
    near = away < mark.reach
    filled = closing(field, Body.ball(sheath.choices.fillet)).z - field.z
    assert filled[near].max() < 0.02


def test_the_blank_carries_the_mark_on_every_copy():
    layout = camp_layout(COARSE)
    mark = mark_of(camp_sheath(COARSE))
    change = with_marks(layout, {0: [mark]}).formed.z - layout.formed.z
    alone = marked(piece_of(camp_sheath(COARSE), upper=mark.upper), [mark]).z
    volume = float((alone - piece_of(camp_sheath(COARSE), upper=mark.upper).formed.z).sum())
    assert float(change.sum()) == pytest.approx(len(layout.parts) * volume, rel=1e-9)
    assert with_marks(layout, {}) is layout


def test_no_vent_is_drilled_for_a_mark():
    layout = camp_layout(COARSE)
    plain, with_mark = (
        make_mould(one, MouldChoices())
        for one in (layout, with_marks(layout, {0: [mark_of(camp_sheath(COARSE), text="A8")]}))
    )
    assert [(v.x, v.y) for v in with_mark.vents] == [(v.x, v.y) for v in plain.vents]
    assert with_mark.surface.z.max() >= plain.surface.z.max()
    assert (with_mark.surface.z != plain.surface.z).any()


def test_what_shows_outside_is_less_than_what_is_cut_and_small_letters_fade():
    sheath = camp_sheath()
    large, small = (shown(sheath, mark_of(sheath, text="E8", height=h)) for h in (12.0, 4.0))
    assert 0.3 < large.depth <= 0.41
    assert small.depth < large.depth
    assert "mark-faint" not in codes(sheath, text="E8", height=12.0)
    assert "mark-faint" in codes(sheath, text="E8", height=4.0)


def test_a_mark_that_breaks_a_rule_is_found():
    sheath = camp_sheath()
    assert codes(sheath) == set()
    assert "mark-deep" in codes(sheath, depth=1.2)
    assert "mark-touches-knife" in codes(sheath, way="sunk", depth=0.7)
    assert "mark-misplaced" in codes(sheath, y=24.0)
    hole = half_holes(sheath, upper=False)[2]
    over = {"x": hole.u, "y": side_of(upper=False) * hole.v + axis_of(sheath), "height": 4.0}
    assert "mark-misplaced" in codes(sheath, **over)
    thick = replace(sheath, sheet=sheath.sheet.model_copy(
        update={"gauge": sheath.sheet.gauge.model_copy(update={"value": 3.5})}
    ))  # fmt: skip
    assert "mark-radius-low" in codes(thick)


@pytest.mark.parametrize(
    ("asked", "error", "words"),
    [
        ({"text": None}, InputError, "either a text or a figure"),
        ({"figure": "flag.svg"}, InputError, "either a text or a figure"),
        ({"text": "Ж"}, InputError, "no letters are known for Ж"),
        ({"text": "  "}, InputError, "the text is empty"),
        ({"depth": 3.0}, CannotMakeError, "makes no stroke so deep"),
        ({"text": "A LONG NAME FOR A SHEATH"}, CannotMakeError, "past the edge"),
        ({"x": 900.0}, CannotMakeError, "no knife at x = 900"),
    ],
)
def test_what_is_no_mark_is_refused(asked, error, words):
    with pytest.raises(error, match=words):
        mark_of(camp_sheath(), **asked)
