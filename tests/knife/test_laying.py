"""An outline seen in any pose comes to lie as the knife it is."""

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.errors import InputError
from chape.knife.landmarks import find_landmarks
from chape.knife.laying import Said, lay_outline
from chape.knife.model import Edges
from chape.knife.read import read_knife
from knife.blades import BLADES, HANDLES
from knife.blades import outline as blade_outline
from specimens import camp_knife, slender_knife

PLOVER = Path(__file__).parents[2] / "examples/drawn-knife/knife.toml"
KNIVES = {
    "camp": lambda: camp_knife(1.0),
    "slender": lambda: slender_knife(1.0),
    "plover": lambda: read_knife(PLOVER, 1.0),
}


def ring_of(outline):
    return shapely.get_coordinates(outline.exterior)[:-1]


def posed(ring, angle, *, mirrored, moved=(100.0, -40.0)):
    c, s = np.cos(angle), np.sin(angle)
    return (ring * [1, -1 if mirrored else 1]) @ np.array([[c, s], [-s, c]]) + moved


@pytest.mark.parametrize("name", KNIVES)
@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("angle", [0.0, 0.8, 2.3, 3.1, 4.6])
def test_a_known_knife_is_laid_as_it_was_drawn(name, mirrored, angle):
    knife = KNIVES[name]()
    laid = lay_outline(
        posed(ring_of(knife.outline), angle, mirrored=mirrored), Said(edges=knife.edges)
    )
    drawn = shapely.affinity.translate(knife.outline, 0, -knife.outline.bounds[1])
    # x runs along the blade's straightest side, a fifth of a degree from the drawing's at most.
    assert shapely.hausdorff_distance(laid.outline.exterior, drawn.exterior) < 1.0
    assert laid.outline.area == pytest.approx(drawn.area, rel=1e-6)
    assert laid.landmarks.blade_length == pytest.approx(knife.blade_length, abs=1.0)
    assert laid.landmarks.guard is not None
    assert laid.doubts == ()


@settings(max_examples=25, deadline=None)
@given(angle=st.floats(0, 6.28), mirrored=st.booleans(), name=st.sampled_from(sorted(KNIVES)))
def test_any_pose_gives_the_same_knife(angle, mirrored, name):
    knife = KNIVES[name]()
    ring, said = ring_of(knife.outline), Said(edges=knife.edges)
    first = lay_outline(ring, said)
    seen = posed(ring, angle, mirrored=mirrored)
    second = lay_outline(seen, said)
    assert shapely.hausdorff_distance(first.outline.exterior, second.outline.exterior) < 0.1
    assert second.landmarks.blade_length == pytest.approx(first.landmarks.blade_length, abs=0.6)
    # And back: what was laid lies where it was seen.
    back = second.to_seen(ring_of(second.outline))
    assert shapely.hausdorff_distance(
        shapely.Polygon(back).exterior, shapely.Polygon(seen).exterior
    ) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("blade", BLADES)
@pytest.mark.parametrize("handle", HANDLES)
def test_tip_and_edge_of_many_kinds_are_found_or_doubted(blade, handle):
    """A wrong edge without a doubt would cut the sheath for the mirror image."""
    ring = blade_outline(blade, handle)
    laid = lay_outline(posed(ring, 2.0, mirrored=True))
    back = laid.to_knife(posed(np.array([ring[0], (60.0, 0.0), (60.0, 24.0)]), 2.0, mirrored=True))
    assert back[0, 0] < 5, "the tip"
    assert laid.landmarks.blade_length == pytest.approx(100.0, abs=3.5)
    wrong = back[1, 1] > back[2, 1]
    assert not wrong or any("edge" in doubt for doubt in laid.doubts)
    assert not wrong or (blade in {"sheepsfoot", "straight edge"} and handle == "stick")


def test_the_person_decides_what_is_tip_and_edge():
    ring = ring_of(camp_knife(1.0).outline)
    laid = lay_outline(ring, Said(tip=np.array([1.0, 0.0]), edge=np.array([0.0, 1.0])))
    assert laid.to_knife(np.array([[ring[:, 0].max(), 9.0]]))[0, 0] == pytest.approx(0, abs=0.1)
    kept = lay_outline(ring, Said(blade_length=101.0, turn=np.radians(2)))
    assert kept.landmarks.blade_length == 101.0
    plain = lay_outline(ring, Said(blade_length=101.0))
    turn = np.arctan2(kept.turned[1, 0], kept.turned[0, 0])
    assert turn - np.arctan2(plain.turned[1, 0], plain.turned[0, 0]) == pytest.approx(
        np.radians(2), abs=1e-9
    )


def test_weak_signs_are_told_as_doubts():
    bar = np.array([(0, 0), (200, 0), (200, 20), (0, 20)], dtype=float)
    laid = lay_outline(bar)
    assert len(laid.doubts) == 3
    assert lay_outline(bar, Said(edges=Edges.DOUBLE)).doubts == (laid.doubts[0], laid.doubts[2])
    assert laid.landmarks.guard is None


@pytest.mark.parametrize(
    ("ring", "said", "words"),
    [
        (np.zeros((3, 2)), None, "no outline"),
        (np.full((9, 2), np.nan), None, "no outline"),
        (np.array([(0, 0), (1, 1), (2, 2), (3, 3.0)]), None, "no outline"),
        (np.array([(0, 0), (9, 0), (9, 3), (0, 3.0)]), None, "9 mm long"),
        (np.array([(0, 0), (900, 0), (900, 30), (0, 30.0)]), None, "900 mm long"),
        (None, Said(blade_length=400.0), "400.0 mm long"),
        (None, Said(tip=np.array([0.0, 1.0])), "its tip"),
        (None, Said(edge=np.array([1.0, 0.0])), "its edge"),
    ],
)
def test_what_cannot_be_is_refused(ring, said, words):
    if ring is None:
        ring = ring_of(camp_knife(1.0).outline)
    with pytest.raises(InputError, match=words):
        lay_outline(ring, said)


def test_a_guard_is_what_stands_out():
    marks = find_landmarks(camp_knife(1.0).outline, 115.0)
    assert marks.guard is not None
    # The demo's guard is deepest at x = 121 and back to the grip's line at 129.
    assert 121 < marks.guard[1] < 129
    assert marks.handle == marks.guard[1]
    assert marks.butt == pytest.approx(230, abs=0.1)
