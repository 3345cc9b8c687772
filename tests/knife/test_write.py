"""What was measured is written so that the knife file's reader reads the same knife."""

import tomllib
from datetime import date

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.documents.outline_drawing import outline_svg
from chape.errors import InputError
from chape.findings import Severity
from chape.knife.check import check_knife
from chape.knife.file import KnifeFile
from chape.knife.laying import Said, lay_outline
from chape.knife.measured import Measured
from chape.knife.model import Edges
from chape.knife.picture import Picture
from chape.knife.read import read_knife
from chape.knife.write import DRAWING, Told, guesses_of, knife_text
from measured_camp import camp_ring
from specimens import slender_knife

DAY = date(2026, 3, 14)
PICTURE = Picture(np.zeros((9, 9, 3), np.uint8), None, None)


def measured(ring=None, said=None):
    laid = lay_outline(camp_ring() if ring is None else ring, said)
    return Measured("photo", laid, PICTURE, lambda points: points, 0.001, 0.1)


def read_back(found, told, folder, spacing=1.0):
    (folder / "knife.toml").write_text(knife_text(found, told), "utf-8")
    (folder / DRAWING).write_bytes(outline_svg(found.outline, told.name))
    return read_knife(folder / "knife.toml", spacing)


def test_the_knife_that_is_read_is_the_one_that_was_measured(tmp_path):
    told = Told("Camp", "photo a.jpg", DAY, spine=[(0, 1), (115, 4)], handle=[(115, 18), (230, 16)])
    found = measured()
    knife = read_back(found, told, tmp_path)
    assert shapely.hausdorff_distance(knife.outline.exterior, found.outline.exterior) < 0.002
    assert (knife.name, knife.source, knife.measured) == ("Camp", "photo a.jpg", DAY)
    # Rounded up to a hundredth, never down: 0.1 + 0.001 * 230 / 2.
    assert knife.uncertainty == 0.22
    assert knife.blade_length == pytest.approx(found.landmarks.blade_length, abs=0.05)
    assert knife.thickness == pytest.approx(18, abs=0.3)
    assert not any(finding.code == "knife-unmeasured" for finding in check_knife(knife))


def test_guesses_are_marked_and_keep_programs_back(tmp_path):
    told = Told("Camp", "photo", None)
    found = measured()
    assert guesses_of(found, told) == ("blade.spine_thickness", "handle.thickness")
    text = knife_text(found, told)
    assert text.count("A GUESS, measure it") == 2
    guessed = [f for f in check_knife(read_back(found, told, tmp_path))
               if f.code == "knife-unmeasured"]  # fmt: skip
    assert [finding.place for finding in guessed] == list(guesses_of(found, told))
    assert {finding.severity for finding in guessed} == {Severity.ERROR}


def test_a_blade_whose_end_was_guessed_is_marked():
    bar = np.array([(0, 0), (150, 0), (200, 10), (200, 22), (0, 22)], dtype=float)
    told = Told("Bar", "photo", None, spine=[(0, 4), (300, 4)], handle=[(0, 18), (300, 18)])
    assert guesses_of(measured(bar), told) == ("blade.length",)
    assert guesses_of(measured(bar, Said(blade_length=100.0)), told) == ()
    codes = [finding.code for finding in measured(bar).findings]
    assert "landmark-unsure" in codes


def test_two_edges_are_written(tmp_path):
    ring = shapely.get_coordinates(slender_knife(1.0).outline.exterior)[:-1]
    found = measured(ring, Said(edges=Edges.DOUBLE))
    knife = read_back(found, Told("Heron", "photo", DAY, Edges.DOUBLE), tmp_path)
    assert knife.edges is Edges.DOUBLE
    # One band along each edge, which meet at the tip at most.
    lower, upper = knife.outline.bounds[1], knife.outline.bounds[3]
    assert knife.edge_band.bounds[1] < lower + 6
    assert knife.edge_band.bounds[3] > upper - 6


@settings(max_examples=30, deadline=None)
@given(
    name=st.text(st.characters(codec="utf-8"), min_size=1, max_size=80),
    source=st.text(st.characters(codec="utf-8"), max_size=200),
)
def test_any_name_survives_the_file(name, source):
    text = knife_text(measured_once(), Told(name, source, DAY))
    file = KnifeFile.model_validate(tomllib.loads(text))
    assert (file.knife.name, file.knife.source) == (name, source)


def measured_once(found=[]):  # noqa: B006 - one measurement serves all names
    if not found:
        found.append(measured())
    return found[0]


def test_a_table_that_cannot_be_is_refused():
    with pytest.raises(InputError, match="spine_thickness"):
        knife_text(measured(), Told("Camp", "photo", DAY, spine=[(10, 3), (5, 4)]))
