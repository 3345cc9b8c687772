"""Laws of the arc fitter, on smooth shapes nobody chose."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from chape.field.outline import Outline, fit_outline

waves = st.lists(st.floats(-1, 1), min_size=12, max_size=12)


def blob(coefficients: list[float], size: float) -> Polygon:
    """Return a smooth closed shape: a circle with six waves on it."""
    angle = np.linspace(0, 2 * np.pi, 900, endpoint=False)
    radius = np.ones_like(angle)
    for n in range(6):
        a, b = coefficients[2 * n], coefficients[2 * n + 1]
        radius += 0.1 * (a * np.cos((n + 1) * angle) + b * np.sin((n + 1) * angle)) / (n + 1)
    return Polygon(size * radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)]))


def strays(outline: Outline, polygon: Polygon) -> float:
    ours = shapely.segmentize(shapely.LinearRing(outline.flattened(1e-5)), 0.2)
    theirs = shapely.segmentize(polygon.exterior, 0.2)
    return float(shapely.hausdorff_distance(ours, theirs))


@settings(max_examples=20, deadline=None)
@given(waves, st.floats(5, 80), st.sampled_from([0.005, 0.01, 0.05]))
def test_neither_strays_further_than_asked(
    coefficients: list[float], size: float, tolerance: float
) -> None:
    shape = blob(coefficients, size)
    outline = fit_outline(shape, tolerance)
    assert outline.is_simple
    assert np.abs(outline.bulges).max() <= 1
    # The chords the outline is judged by stay within 1e-5 mm.
    assert strays(outline, shape) <= tolerance + 2e-5
    assert len(outline.points) < 300
    # An area differs by no more than a band of the tolerance's width along its rim.
    assert abs(outline.area - shape.area) <= tolerance * shape.length
    assert abs(outline.area - outline.polygon(1e-4).area) <= 1e-4 * outline.length


@settings(max_examples=15, deadline=None)
@given(waves, st.floats(0.5, 3), st.integers(0, 3))
def test_moving_mirroring_and_scaling_keep_what_they_should(
    coefficients: list[float], factor: float, turns: int
) -> None:
    outline = fit_outline(blob(coefficients, 20))
    twice = outline.mirrored().mirrored()
    assert np.array_equal(twice.points, outline.points)
    assert np.array_equal(twice.bulges, outline.bulges)
    for same in (outline.mirrored(), outline.moved(100, -7, turns)):
        assert abs(same.area - outline.area) < 1e-8 * outline.area
        assert abs(same.length - outline.length) < 1e-9 * outline.length
    scaled = outline.scaled(factor)
    assert abs(scaled.area - factor**2 * outline.area) < 1e-8 * scaled.area


@settings(max_examples=10, deadline=None)
@given(waves)
def test_the_same_shape_gives_the_same_bytes(coefficients: list[float]) -> None:
    first, second = (fit_outline(blob(coefficients, 30)) for _ in range(2))
    assert first.points.tobytes() == second.points.tobytes()
    assert first.bulges.tobytes() == second.bulges.tobytes()
