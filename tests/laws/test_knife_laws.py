"""Whatever a maker measures, the outline is simple and the field keeps within the measurements."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.knife.file import KnifeFile, TipShape
from chape.knife.from_stations import outline_of_stations
from chape.knife.read import knife_of

numbers = st.floats(-8, 8, allow_nan=False)


@st.composite
def stations(draw):
    """Stations of a band that wanders no faster than a knife's sides do."""
    count = draw(st.integers(4, 9))
    gaps = draw(st.lists(st.floats(4, 40), min_size=count, max_size=count))
    x = np.concatenate([[0.0], np.cumsum(gaps)])
    x *= 200 / x[-1]
    middle = draw(st.lists(numbers, min_size=count + 1, max_size=count + 1))
    height = draw(st.lists(st.floats(9, 30), min_size=count + 1, max_size=count + 1))
    rows = [
        [float(a), float(m - h / 2), float(m + h / 2)]
        for a, m, h in zip(x, middle, height, strict=True)
    ]
    for end, beside in ((0, 1), (-1, -2)):
        if draw(st.booleans()):
            # A tip or butt lies between the sides beside it; one far off is rightly refused.
            share = draw(st.floats(0.3, 0.7))
            y = rows[beside][1] + share * (rows[beside][2] - rows[beside][1])
            rows[end] = [rows[end][0], y, y]
    return rows


@given(rows=stations(), round_tip=st.booleans())
@settings(max_examples=60, deadline=None)
def test_outline_is_simple_passes_its_stations_and_never_overshoots(rows, round_tip):
    closes = rows[0][1] == rows[0][2]
    shape = TipShape.ROUND if round_tip and closes else TipShape.SHARP
    outline = outline_of_stations(rows, shape)
    assert outline.is_valid
    assert outline.exterior.is_ccw
    low = min(row[1] for row in rows)
    high = max(row[2] for row in rows)
    x_min, y_min, x_max, y_max = outline.bounds
    assert np.allclose([x_min, y_min, x_max, y_max], [0, low, rows[-1][0], high], atol=1e-9)
    corners = [(row[0], y) for row in rows for y in row[1:]]
    assert shapely.distance(shapely.points(corners), outline.exterior).max() < 1e-6


@given(
    rows=stations(),
    blade=st.floats(60, 140),
    spine=st.floats(0.6, 8),
    grip=st.floats(8, 30),
    edges=st.sampled_from(["single", "double"]),
    grind=st.sampled_from(
        [
            {"grind": "full flat"},
            {"grind": "partial flat", "grind_height": 6.0},
            {"grind": "hollow", "grind_height": 9.0, "wheel_radius": 60.0},
            {"grind": "convex", "bulge": 0.4},
        ]
    ),
    behind=st.floats(0, 0.9),
)
@settings(max_examples=40, deadline=None)
def test_field_is_zero_outside_and_never_thicker_than_measured(
    rows, blade, spine, grip, edges, grind, behind
):
    file = KnifeFile.model_validate(
        {
            "knife": {"name": "Law", "edges": edges},
            "outline": {"stations": rows},
            "blade": {
                "length": blade,
                "spine_thickness": [[0, spine / 2], [blade, spine]],
                "behind_edge": behind,
                **grind,
            },
            "handle": {"thickness": [[blade, grip], [200, grip / 2]]},
        }
    )
    knife = knife_of(file, 1.0)
    x, y = knife.half.grid.mesh()
    z = knife.half.z
    away = shapely.distance(shapely.points(x, y), knife.outline) > 1e-9
    assert (z[away] == 0).all()
    assert (z >= 0).all()
    on_blade = x < blade
    assert 2 * z[on_blade].max() <= max(spine, behind) + 1e-9
    assert 2 * z[~on_blade].max() <= max(grip, spine, behind) + 1e-9
    assert knife.outline.buffer(1e-6).covers(knife.edge_band)
    # The edge itself has no thickness.
    rim = np.array(knife.edge_band.bounds)
    assert rim[2] <= blade + 1e-9
