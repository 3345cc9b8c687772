"""The margin map, what the job sheet says of outline and gauges, and their drawings."""

from __future__ import annotations

import re
from dataclasses import replace
from io import StringIO

import ezdxf
import numpy as np
import pytest

from chape.documents.figures_outline import gauge_figures, mark_figures, outline_figures
from chape.documents.gauge_drawings import gauge_drawings
from chape.documents.page_outline import gauge_rows, outline_rows, outline_said
from chape.documents.picture_margins import COLOURS, margin_map, runs
from chape.sheath.margins import Binding, margins_of
from chape.tooling.gauges import make_gauges
from chape.tooling.lettering import make_marks
from chape.tooling.model import MarkChoice
from chape.units import LengthUnit
from specimens import camp_sheath
from synthetic_job import job
from whole import whole


@pytest.fixture(scope="module")
def gauges():
    return make_gauges(camp_sheath(), 0.1)


def test_the_map_shows_every_binding_in_its_colour_with_its_share():
    sheath = camp_sheath()
    margins = margins_of(sheath, whole(sheath))
    drawing = margin_map(sheath, whole(sheath), LengthUnit.MM).svg().decode()
    for kind, share in margins.shares.items():
        if share > 0:
            assert f"{kind.value} {share:.0%}" in drawing
            assert COLOURS[kind].hex in drawing
    assert f"{margins.beyond.max():.2f} mm spare" in drawing
    assert drawing == margin_map(sheath, whole(sheath), LengthUnit.MM).svg().decode()


def test_the_stretches_of_the_map_go_once_round():
    sheath = camp_sheath()
    margins = margins_of(sheath, whole(sheath))
    found = runs(margins)
    assert sum(len(points) - 1 for _, points in found) == len(margins.points)
    assert {kind for kind, _ in found} == set(margins.binding)


def test_the_page_says_what_the_figures_say(gauges):
    results = replace(job(), gauges=gauges)
    figures = outline_figures(results)
    rows = {row[0]: row[1] for row in outline_rows(results)}
    (piece,) = figures["pieces"].values()
    assert rows["Sheet it takes"] == f"{piece['flat_area'] / 100:.1f} cm²"
    assert rows["Sheet weighs"].startswith(f"{figures['mass_of_sheet']:.1f} ±")
    assert piece["formed_area"] > piece["flat_area"]
    assert sum(piece["bound_by"].values()) == pytest.approx(1.0)
    assert "fair line" in outline_said(results)
    inches = {row[0]: row[1] for row in outline_rows(replace(results, unit=LengthUnit.INCH))}
    ounces = float(inches["Sheet weighs"].split()[0])
    assert ounces == pytest.approx(figures["mass_of_sheet"] / 28.3495, abs=0.006)


def test_the_gauges_are_told_by_hole_and_notch(gauges):
    rows = gauge_rows(gauges, LengthUnit.MM)
    assert rows[0][1] == f"{gauges.mouth.go:.2f} mm"
    notches = [row[0] for row in rows if "notch" in row[0]]
    assert len(notches) == len(gauges.fold.measures)
    assert notches[0].endswith("1 notch")
    figures = gauge_figures(gauges)
    assert figures["mouth"]["no_go"] == gauges.mouth.no_go
    assert set(figures["drill_guides"]) == {"front", "back"}
    assert gauge_rows(None, LengthUnit.MM) == []
    assert gauge_figures(None) is None


def test_marks_are_told_with_what_shows_of_them():
    sheath = camp_sheath()
    marks = make_marks(sheath, [MarkChoice(text="A7", x=62.0, depth=0.4)], {})
    (found,) = mark_figures(replace(job(), sheath=sheath, marks=marks))
    assert found["said"] == "A7"
    assert 0 < found["depth_shown"] <= found["depth"] + 0.01


def test_the_drawings_of_gauges_pass_the_audit_and_hold_every_pilot(gauges):
    files = gauge_drawings(gauges)
    for guide in gauges.guides:
        drawing = ezdxf.read(StringIO(files[f"drawings/drill-guide-{guide.name}.dxf"].decode()))
        assert not drawing.audit().errors
        circles = drawing.modelspace().query("CIRCLE")
        centres = np.array(sorted((c.dxf.center.x, c.dxf.center.y) for c in circles))
        assert np.allclose(centres, sorted(guide.holes))
    drawing = files["drawings/fold-gauge.svg"].decode()
    width, height = (
        float(part) for part in re.search(r"viewBox=\"0 0 ([\d.]+) ([\d.]+)", drawing).groups()
    )
    _, _, x_max, y_max = gauges.fold.shape.bounds
    assert width == pytest.approx(max(x_max, 50.0) + 20.0, abs=0.1)
    assert height == pytest.approx(y_max + 30.0, abs=0.1)


def test_every_binding_has_a_colour_of_its_own():
    assert len({COLOURS[kind] for kind in Binding}) == len(Binding)
