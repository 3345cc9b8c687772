"""A sheath as it is seen while it is dragged."""

import json
import tomllib
from copy import deepcopy
from pathlib import Path

import numpy as np
import pytest
import shapely

import chape.demo
from chape.bench.finding import FlatFrame, finding_answer
from chape.bench.preview import Look, preview
from chape.bench.sheath_view import plan_view, section_view
from chape.errors import CannotMakeError
from chape.findings import Finding, Severity
from chape.pipeline.glance import Glancer

PATH = Path(chape.demo.__file__).with_name("camp-sheath.toml")
TABLES = tomllib.loads(PATH.read_text("utf-8"))


def tables(**clearance):
    held = deepcopy(TABLES)
    held["sheath"]["clearance"].update(clearance)
    return held


@pytest.fixture(scope="module")
def glancer():
    return Glancer(1.6)


@pytest.fixture(scope="module")
def seen(glancer):
    return glancer.look(PATH)


def test_figures_are_those_of_the_sheath(seen):
    figures = seen.figures
    piece = seen.sheath.pieces[0]
    assert figures.copies == 4
    assert figures.blank_use == pytest.approx(4 * piece.pattern.area / 300**2)
    # Water has 1 g/cm3; the sheet is between that and half as much again.
    assert 1.0 < figures.mass / (figures.flat_area * 2.0 / 1000) < 1.6
    assert 0 < figures.least_clearance < 0.5
    assert 0.3 < figures.edge_clearance < 1.3


def test_more_room_over_the_blade_keeps_its_edge_further_from_the_sheet(glancer, seen):
    wider = glancer.look(PATH, tables(blade=1.0), dragging=True)
    gained = wider.figures.edge_clearance - seen.figures.edge_clearance
    assert 0.2 < gained < 0.55


def test_holes_are_carried_along_while_dragged_and_planned_once_it_ends(glancer, seen):
    moved = glancer.look(PATH, tables(side=1.5), dragging=True)
    assert moved.carried
    rivets = [
        [hole.id for hole in plan_view(each.sheath).holes if hole.kind != "drain"]
        for each in (seen, moved)
    ]
    assert rivets[0] == rivets[1]
    for old, new in zip(seen.sheath.clips, moved.sheath.clips, strict=True):
        # A clip is a rigid thing: it moves as one, by about what the wall moves.
        assert np.ptp(new.points - old.points, axis=0).max() < 1e-9
        assert np.abs(new.points - old.points).max() < 1.0
    planned = glancer.look(PATH, tables(side=1.5))
    assert not planned.carried
    assert glancer.look(PATH, tables(side=1.5), dragging=True) is planned


@pytest.mark.usefixtures("seen")
def test_a_carried_plan_is_given_up_where_its_pitch_is_not_kept(glancer):
    held = tables()
    held["sheath"]["mouth"]["wrap"] += 12.0
    assert not glancer.look(PATH, held, dragging=True).carried


def test_the_plan_holds_the_knife_and_its_holes(seen):
    plan = plan_view(seen.sheath)
    sheath = shapely.Polygon(plan.outline)
    inside = shapely.Polygon(plan.knife).intersection(shapely.box(-50, -99, plan.mouth, 99))
    assert inside.difference(sheath.buffer(0.1)).area < 1.0
    assert all(sheath.contains(shapely.Point(hole.x, hole.y)) for hole in plan.holes)
    assert {hole.kind for hole in plan.holes} >= {"eyelet"}
    assert {clip.name for clip in plan.clips} == {"belt-loop-2", "flat-clip-2"}


def test_a_handle_tells_the_value_it_changes(glancer, seen):
    for handle in plan_view(seen.sheath).handles:
        value = TABLES
        for key in handle.path.split("."):
            value = value[int(key)] if key.isdecimal() else value[key]
        assert handle.value == value, handle.path
        assert np.hypot(*handle.along) == pytest.approx(1.0)
    mouth = next(h for h in plan_view(seen.sheath).handles if h.path == "sheath.mouth.wrap")
    held = tables()
    held["sheath"]["mouth"]["wrap"] = mouth.value + 3.0 * mouth.per_mm
    dragged = plan_view(glancer.look(PATH, held, dragging=True).sheath)
    assert dragged.mouth == pytest.approx(mouth.x + 3.0)


def test_a_section_shows_sheet_all_round_the_knife_and_true_measures(seen):
    section = section_view(seen.sheath, 60.0)
    outside, room = (shapely.Polygon(ring) for ring in section.sheet)
    knife = shapely.Polygon(section.knife)
    assert room.contains(knife)
    assert outside.contains(room)
    assert {each.label for each in section.dimensions} == {"edge", "beside", "spine"}
    for each in section.dimensions:
        assert np.hypot(*np.subtract(each.end, each.start)) == pytest.approx(each.value, abs=1e-6)
        assert shapely.Point(each.end).distance(room.exterior) < 0.1
    # A station beyond either end shows the nearest section there is.
    assert section_view(seen.sheath, 1e6).x < seen.sheath.mouth_x


def test_what_cannot_be_made_is_a_sentence():
    told = json.loads(preview(Look(PATH, 7, tables(side=77.0))))
    assert told["sequence"] == 7
    assert told["plan"] is None
    assert told["problem"]["field"] == "sheath.clearance.side"
    assert "NaN" not in json.dumps(told)


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), "wide", -1.0, None])
def test_no_value_of_a_page_gets_through_unchecked(wrong):
    told = json.loads(preview(Look(PATH, 1, tables(handle_side=wrong))))
    assert told["problem"]["sentence"]


def test_a_finding_leads_to_its_place_on_the_closed_sheath():
    def place(words, frame):
        return finding_answer(Finding("a-code", Severity.NOTE, words, "", ""), frame).place

    assert place("fold, x = 62 mm", None).model_dump() == {"x": 62.0, "y": None}
    assert place("x = 115 to 145 mm", None).x == 115.0
    folded = FlatFrame(36.0, left=False)
    for v in (-30.0, 30.0):
        assert place(f"eyelet at u = 5 mm, v = {v:g} mm", folded).model_dump() == {"x": 5, "y": 6}
    paired = FlatFrame(None, left=False)
    assert place("front, u = 1 mm, v = -2 mm", paired).y == -2.0
    assert place("back, u = 1 mm, v = -2 mm", paired).y == 2.0
    assert place("clip belt-loop-2", folded) is None


@pytest.mark.usefixtures("seen")
def test_the_depth_found_for_a_hold_serves_where_a_hold_is_asked_for(glancer):
    assert glancer.look(PATH, tables(), dragging=True, depth=0.35).figures.snap_depth == 0.35
    held = tables()
    del held["fit"]["hold"]
    assert glancer.look(PATH, held, dragging=True, depth=0.35).figures.snap_depth == 0.6


@pytest.mark.parametrize("dragging", [False, True])
def test_no_reason_is_searched_for_while_somebody_waits(glancer, dragging):
    held = tables()
    held["sheath"]["edging"]["margin"] = 60.0
    held["sheath"]["eyelets"]["spacing_least"] = 8.0
    with pytest.raises(CannotMakeError) as refused:
        glancer.look(PATH, held, dragging=dragging)
    assert "is searched for" in refused.value.mend
