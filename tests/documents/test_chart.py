"""Charts: round ticks, and curves that stand where they should."""

import re

import numpy as np
import pytest

from chape.documents import palette
from chape.documents.chart import MARGINS, Axis, Chart, ticks
from chape.documents.sketch import Pen


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0.0, 100.0, [0, 20, 40, 60, 80, 100]),
        (0.0, 1.08, [0, 0.5, 1.0]),
        (-3.0, 3.0, [-2, 0, 2]),
        (0.0, 37.8, [0, 10, 20, 30]),
    ],
)
def test_ticks_are_round_and_within(low, high, expected):
    np.testing.assert_allclose(ticks(low, high), expected, atol=1e-12)


def chart():
    return Chart(100.0, 60.0, Axis(0.0, 10.0, "seconds"), Axis(0.0, 200.0, "°C"))


def test_a_curve_goes_from_corner_to_corner():
    drawn = chart()
    drawn.line(np.array([0.0, 10.0]), np.array([0.0, 200.0]), Pen(palette.COPPER, 0.5))
    path = drawn.svg().decode().split(f'stroke="{palette.COPPER.hex}"')[0].rsplit('d="', 1)[1]
    numbers = [float(word) for word in re.findall(r"-?\d+\.\d+", path.split('"')[0])]
    left, top, right, bottom = MARGINS
    assert numbers == pytest.approx([left, 60.0 - bottom, 100.0 - right, top])


def test_what_is_not_known_breaks_the_curve():
    drawn = chart()
    values = np.array([10.0, 20.0, np.nan, 30.0, 40.0])
    drawn.line(np.arange(5.0), values, Pen(palette.COPPER, 0.5))
    text = drawn.svg().decode()
    assert text.count(f'stroke="{palette.COPPER.hex}"') == 2
    assert "nan" not in text


def test_an_axis_holds_its_values_and_nothing_at_all():
    axis = Axis.around(np.array([3.0, np.inf, 8.0]), "N")
    assert axis.low == 0.0
    assert axis.high > 8.0
    empty = Axis.around(np.array([]), "N")
    assert empty.low < empty.high
    below = Axis.around(np.array([-2.0, 4.0]), "N")
    assert below.low < -2.0
