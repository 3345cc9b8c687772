"""The catalogue's screws against the standards they name, and keep-out arithmetic.

Tables are from memory where the standard's page was not at hand.
"""

from __future__ import annotations

import pytest

from chape.catalog.read import catalog
from chape.tooling.screws import keep_out_radius

#: ISO 7380-1 button heads: diameter and height (from memory); ISO 273 clearance, medium and coarse
#: (from memory; inch drills agree with Machinery's Handbook); ISO 261 coarse pitch.
TABLE = {6.0: (10.5, 3.3, 6.6, 7.0, 1.0), 4.0: (7.6, 2.2, 4.5, 4.8, 0.7)}


@pytest.mark.parametrize("name", catalog().names("screws"))
def test_metric_button_screws(name: str) -> None:
    screw = catalog().screw(name)
    head, height, medium, coarse, pitch = TABLE[screw.thread.value]
    assert screw.head_diameter.value == head
    assert screw.head_height.value == height
    assert medium <= screw.clearance_hole.value <= coarse
    # An insert is wider than its screw and is never a plain tapped hole.
    assert screw.insert_hole.value > screw.thread.value + pitch


def test_keep_out_of_a_quarter_inch_socket_head() -> None:
    """ASME B18.3 (from memory): head 0.375 in; half of it, half of 6 mm and 1 mm: 8.7625 mm."""
    screw = catalog().screw("screw-m6-button")
    wide = screw.head_diameter.model_copy(update={"value": 9.525})
    quarter = screw.model_copy(update={"head_diameter": wide})
    assert keep_out_radius(quarter, 6.0) == pytest.approx(8.7625)
