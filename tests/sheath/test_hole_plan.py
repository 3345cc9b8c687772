"""The hole plan against every plan there is, on lines short enough to try them all."""

from __future__ import annotations

import re
from itertools import combinations, pairwise, product
from math import dist, inf

import numpy as np
import pytest
import shapely

from chape.catalog.hardware import Clip
from chape.errors import CannotMakeError
from chape.sheath.clip_places import ASTRAY_MOST, ClipWish, Ground, placements_of
from chape.sheath.clip_shapes import is_handed, shapes_of
from chape.sheath.hole_plan import plan
from chape.sheath.hole_reasons import why_not
from chape.sheath.hole_rules import END_MOST, rules_of
from chape.sheath.hole_search import search
from chape.sheath.hole_sites import sites_of, size_of, uses_of
from chape.sheath.locus import locus_of

SEAT, HOLE, SPACING = 5.25, 6.5, 3.0
LEAST = SPACING * HOLE


def clip_of(*holes, angles=(0.0,), hole=HOLE, name="clip"):
    figure = {"value": hole, "unit": "mm", "source": "test", "status": "from memory"}
    return Clip(
        name=name, title=name, holes=holes, hole=figure, angles=angles, half="back", source="test"
    )


LOOP_20 = clip_of((0, 0), (20, 0), name="loop of 20")
LOOP_30 = clip_of((0, 0), (30, 0), name="loop of 30")
LOOP_35 = clip_of((0, 0), (35, 0), name="loop of 35")
THREE = clip_of((0, 0), (20, 0), (40, 0), name="three in line")
SQUARE = clip_of((0, 0), (25, 0), (25, 25), (0, 25), name="square")
TRIANGLE = clip_of((0, 0), (30, 0), (10, 25), angles=(0, 180), name="triangle")
ONE = clip_of((0, 0), name="one hole")
EVEN = clip_of((0, 0), (30, 0), (15, 25), angles=(0, 180), name="even triangle")
PLAIN = clip_of((0, 0), (25, 0), hole=4.2, name="small screws")


def straight(length, side=1):
    """A line from the mouth at x = length to the tip at x = 0, the wall above it for side 1."""
    return locus_of(shapely.LineString([(length, 0.0), (0.0, 0.0)]), side=side)


def bowed(length=120.0, radius=150.0):
    turns = np.linspace(0.0, length / radius, 60)
    x, y = length - radius * np.sin(turns), radius * (1 - np.cos(turns))
    return locus_of(shapely.LineString(np.column_stack([x, y])), side=1)


def ground_of(*loci):
    x = np.vstack([locus.points for locus in loci])[:, 0]
    return Ground(loci, float(x.min()), float(x.max()), SEAT)


def wish(clip, wanted=0.0, within=inf):
    outs = (0.0,) if clip.hole.value == HOLE else (0.0, LEAST)
    return ClipWish(clip, wanted, within, SEAT, outs=outs)


def every_plan(length, step, wishes, pitch):
    """The fewest holes on a straight line, by trying every set of places and every placement.

    Written from the rules alone: places are whole steps from the mouth, and holes beside the line
    stand where their clip puts them.
    """
    places = [round(k * step, 6) for k in range(round(length / step) + 1)]
    ways = []
    for one in wishes:
        for mirrored in (False, True):
            lying = []
            for angle in one.clip.angles:
                turn = np.exp(1j * np.radians(angle))
                own = [complex(x, -y if mirrored else y) * turn for x, y in one.clip.holes]
                left = min(p.real for p in own)
                low = min(p.imag for p in own)
                own = [p - complex(left, low) for p in own]
                lying += [
                    frozenset((round(p.real + start, 3), round(p.imag, 3)) for p in own)
                    for start in places
                    if all(p.real + start <= length + 1e-9 for p in own)
                    and abs(start - one.wanted) <= one.within
                ]
            either = sorted(set(lying), key=sorted)
            # Where the mirror image lies just as the clip does, one placement serves both.
            if not (mirrored and either == ways[-1]):
                ways.append(either)
    best = None
    for chosen in product(*ways):
        needed = frozenset().union(*chosen)
        if any(y == 0 and x not in places for x, y in needed):
            continue
        free = [x for x in places if (x, 0.0) not in needed]
        most = int(length // LEAST) + 1
        if best is not None:
            most = min(most, best - len(needed) - 1)
        for count in range(most + 1):
            if any(
                _keeps(needed, chosen, added, length, pitch) for added in combinations(free, count)
            ):
                best = len(needed) + count
                break
    return best


def _keeps(needed, chosen, added, length, pitch):
    holes = [*needed, *((x, 0.0) for x in added)]
    row = sorted(x for x, y in holes if y <= SEAT)
    taken = {x for x, y in needed if y <= SEAT}
    if not row or any(b - a > pitch + 1e-9 for a, b in pairwise(row)):
        return False
    for end in (row[0], length - row[-1]):
        at = row[0] if end == row[0] else row[-1]
        if end > 1e-9 and (end > END_MOST or at not in taken):
            return False
    if any(0 < x <= END_MOST or 0 < length - x <= END_MOST for x in added):
        return False
    return all(
        dist(a, b) >= LEAST - 1e-9 or any(a in one and b in one for one in chosen)
        for a, b in combinations(holes, 2)
    )


@pytest.mark.parametrize(
    ("length", "clips", "pitch"),
    [
        (60.0, (LOOP_20,), 35.0),
        (60.0, (LOOP_30,), 30.0),
        (80.0, (LOOP_20, LOOP_30), 40.0),
        (80.0, (LOOP_35, LOOP_20), 40.0),
        (65.0, (LOOP_35, LOOP_30), 40.0),
        (70.0, (THREE, ONE), 45.0),
        (90.0, (THREE, LOOP_30), 45.0),
        (80.0, (SQUARE,), 40.0),
        (70.0, (TRIANGLE,), 40.0),
        (60.0, (LOOP_20, LOOP_35, ONE), 35.0),
        (40.0, (LOOP_20, LOOP_35), 40.0),
    ],
)
def test_no_other_plan_has_fewer_holes(length, clips, pitch):
    step = 5.0
    ground, wishes = ground_of(straight(length)), tuple(wish(clip) for clip in clips)
    placements = tuple(p for k, w in enumerate(wishes) for p in placements_of(k, w, ground, step))
    sites = sites_of(ground, HOLE, wishes, placements, step)
    uses = uses_of(sites, placements, [size_of(w, HOLE) for w in wishes])
    rules = rules_of(wishes, ground, pitch, SPACING, HOLE)
    found = search(ground, sites, placements, uses, rules)
    best = every_plan(length, step, wishes, pitch)
    assert (None if found is None else len(found.sites)) == best
    if found is not None:
        assert found.holes_least == best


def test_of_as_many_holes_the_one_nearest_to_where_it_is_wanted():
    for wanted in (12.0, 31.0, 47.5):
        made = plan(ground_of(straight(100.0)), (wish(LOOP_30, wanted),), 40.0, SPACING, HOLE)
        # Four gaps of at most 40 mm cover 100 mm with a gap of 30 anywhere but near an end.
        (laid,) = made.laid
        fits = [s for s in np.arange(0.0, 70.5, 0.5) if _gaps(s) + _gaps(70.0 - s) <= 2]
        nearest = min(abs(s - wanted) for s in fits)
        assert laid.placement.astray == pytest.approx(nearest, abs=1e-6)
        assert made.cost == made.cost_least


def _gaps(length):
    """Gaps that eyelets make of a stretch before or after a clip; many where there is no room."""
    if length <= END_MOST:
        return 0
    count = int(np.ceil(length / 40.0 - 1e-9))
    return count if length / count >= LEAST else 99


@pytest.mark.parametrize("clips", [(), (LOOP_30,), (SQUARE, LOOP_30), (EVEN,), (PLAIN, ONE)])
def test_rules_are_kept_on_a_bow(clips):
    ground = ground_of(bowed())
    wishes = tuple(wish(clip, 20.0, 20.0) for clip in clips)
    made = plan(ground, wishes, 38.0, SPACING, HOLE)
    row = [hole.point for hole in made.holes if hole.rivet and hole.out <= SEAT]
    assert max(dist(a, b) for a, b in pairwise(row)) <= 38.0 + 1e-3
    assert min(hole.out for hole in made.holes) >= -0.1
    for one, other in combinations(range(len(made.holes)), 2):
        own = any(one in laid.holes and other in laid.holes for laid in made.laid)
        a, b = made.holes[one], made.holes[other]
        assert own or dist(a.point, b.point) >= SPACING * max(a.diameter, b.diameter) - 1e-3
    for laid in made.laid:
        shape = np.array(wishes[laid.placement.clip].clip.holes)
        spans = [dist(a, b) for a, b in combinations(shape, 2)]
        assert [dist(a, b) for a, b in combinations(laid.points, 2)] == pytest.approx(spans)
        assert laid.play <= ASTRAY_MOST


def test_a_left_hand_line_has_the_mirror_image_of_the_plan():
    turns = np.linspace(0.0, 0.8, 60)
    points = np.column_stack([120 - 150 * np.sin(turns), 150 * (1 - np.cos(turns))])
    one, other = (
        locus_of(shapely.LineString(points * np.array([1.0, flip])), side=flip) for flip in (1, -1)
    )
    wishes = (wish(TRIANGLE, 30.0, 25.0), wish(ONE, 30.0, 20.0))
    here, there = (plan(ground_of(line), wishes, 38.0, SPACING, HOLE) for line in (one, other))
    assert [(h.point[0], -h.point[1]) for h in there.holes] == [tuple(h.point) for h in here.holes]


def test_plain_holes_are_drilled_for_screws_that_no_eyelet_takes():
    made = plan(ground_of(straight(100.0)), (wish(PLAIN, 40.0),), 38.0, SPACING, HOLE)
    plain = [hole for hole in made.holes if not hole.rivet]
    assert [hole.diameter for hole in plain] == [4.2, 4.2]
    assert len([hole for hole in made.holes if hole.rivet]) >= 4


def test_only_patterns_that_are_not_their_own_mirror_image_are_handed():
    assert is_handed(TRIANGLE)
    for clip in (LOOP_20, THREE, SQUARE, ONE):
        assert not is_handed(clip)
    # The same triangle, were it permitted to lie either way up about its own middle: still handed.
    assert is_handed(clip_of((0, 0), (30, 0), (10, 25), angles=(0, 90, 180, -90)))
    assert not is_handed(EVEN)
    # Its mirror image stands on its head, which is not permitted here.
    assert is_handed(clip_of((0, 0), (30, 0), (15, 25), angles=(0,)))
    assert {(shape.true, shape.mirrored) for shape in shapes_of(EVEN)} == {(True, True)}


def test_the_way_out_is_said_and_works():
    ground = ground_of(straight(60.0))
    wishes = (wish(LOOP_35), wish(LOOP_30))
    assert plan(ground, wishes, 45.0, SPACING, HOLE) is None
    error = why_not(ground, wishes, 45.0, SPACING, HOLE, proved=True)
    assert isinstance(error, CannotMakeError)
    text = str(error)
    assert text.startswith('no hole plan serves all of the clips "loop of 35", "loop of 30"')
    assert "where 19.5 mm is asked" in text
    assert 'eave out "loop of 30"' in text
    spacing = float(text.split("spacing_least to ")[1].split(maxsplit=1)[0])
    assert plan(ground, wishes, 45.0, spacing, HOLE) is not None
    assert plan(ground, wishes[:1], 45.0, SPACING, HOLE) is not None


@pytest.mark.parametrize(
    ("clip", "more", "words"),
    [
        (clip_of((0, 0), (200, 0)), {}, "no longer than 60 mm"),
        (LOOP_30, {"wanted": 55.0, "within": 10.0}, 'Set "within" of that clip to 25 mm'),
        (clip_of((0, 0), (0, 58), angles=(45,)), {"within": 5.0}, "degrees"),
    ],
)
def test_a_clip_that_finds_no_place_says_why(clip, more, words):
    ground = ground_of(straight(60.0))
    error = why_not(ground, (wish(clip, **more),), 45.0, SPACING, HOLE, proved=True)
    assert "\n" not in str(error)
    assert re.search(words, str(error)), str(error)


@pytest.mark.parametrize("side", [1, -1])
def test_what_is_called_true_is_the_clip_unmirrored(side):
    ground = ground_of(straight(90.0, side))
    own = turn_of(TRIANGLE.holes)
    for placement in placements_of(0, wish(TRIANGLE), ground):
        assert placement.true != placement.mirrored
        assert turn_of(placement.holes) == pytest.approx(own if placement.true else -own)
        # Away from the wall, which lies above the one line and below the other.
        assert (side * placement.holes[:, 1]).max() < 1e-6


def test_two_lines_are_closed_each_for_itself_and_share_the_clips():
    edge = straight(90.0)
    spine = locus_of(shapely.LineString([(90.0, 60.0), (0.0, 60.0)]), side=-1)
    made = plan(ground_of(edge, spine), (wish(LOOP_30, 30.0),), 40.0, SPACING, HOLE)
    for line in (0, 1):
        row = [hole.along for hole in made.holes if hole.locus == line]
        assert row[0] == 0.0
        assert row[-1] == pytest.approx(90.0)
        assert max(np.diff(row)) <= 40.0 + 1e-3
    # The clip fits among the eyelets that close one of them anyway.
    assert len(made.holes) == 8


def turn_of(points):
    """Twice the area of the first three points, positive when they turn counter-clockwise."""
    (x0, y0), (x1, y1), (x2, y2) = points[:3]
    return (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
