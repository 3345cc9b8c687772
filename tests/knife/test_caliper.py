"""Caliper readings are read as typed, and go before a photograph."""

import numpy as np
import pytest

from chape.errors import InputError
from chape.knife.caliper import caliper_rows, corrected, read_rows


def test_readings_are_read_as_typed():
    assert read_rows("115:8, 140:17.2,120:15", "x") == [(115, 8), (120, 15), (140, 17.2)]
    ((place, thickness),) = read_rows("0.709", "x", 25.4)
    assert np.isnan(place)
    assert thickness == pytest.approx(18.0, abs=0.01)


@pytest.mark.parametrize(
    "text", ["", "thick", "115:", "115:x", "nan", "0", "-4", "900", "1:2,1:3", "18,19", "nan:4",
             "-5:18", "inf", "5:inf"],
)  # fmt: skip
def test_what_is_no_reading_is_refused(text):
    with pytest.raises(InputError, match=r"handle|expected|needs a place"):
        read_rows(text, "handle-thickness")


def test_readings_alone_reach_over_their_part():
    assert caliper_rows((), 0, 100, "blade") == ()
    assert caliper_rows(read_rows("4", "x"), 0, 100, "blade") == [(0, 4), (100, 4)]
    rows = caliper_rows(read_rows("10:3,60:4", "x"), 0, 100, "blade")
    assert rows == [(0, 3), (10, 3), (60, 4), (100, 4)]
    # A little past its end, a reading counts at the end.
    assert caliper_rows(read_rows("0:3,102:4", "x"), 0, 100, "blade")[-1] == (100, 4)


def test_a_reading_off_its_part_is_refused():
    with pytest.raises(InputError, match="not on the blade, which reaches"):
        caliper_rows(read_rows("50:3,120:4", "x"), 0, 100, "blade")


def test_a_reading_goes_before_the_photograph():
    photo = [(0.0, 2.0), (50.0, 4.4), (100.0, 4.8)]
    rows, differ = corrected(photo, read_rows("50:4,100:4.6", "x"), 0, 100, "blade")
    # Beyond the first reading its own difference counts on.
    assert rows == [(0.0, pytest.approx(1.6)), (50.0, 4.0), (100.0, 4.6)]
    assert [each.difference for each in differ] == pytest.approx([0.4, 0.2])
    assert corrected(photo, (), 0, 100, "blade") == (photo, ())


def test_a_reading_without_a_place_is_the_thickest():
    photo = [(100.0, 10.0), (150.0, 18.3), (200.0, 12.0)]
    rows, (differ,) = corrected(photo, read_rows("18", "x"), 100, 200, "handle")
    assert differ.x == 150.0
    assert max(thickness for _, thickness in rows) == 18.0
    assert rows[0][1] == pytest.approx(9.7)
